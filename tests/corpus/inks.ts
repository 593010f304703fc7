import { basename } from "node:path";
import { has } from "../support/oracle.ts";
import { EQUAL, type Fared, summed } from "./corpus.ts";
import { pages } from "./pages.ts";
import { pictures } from "./pictures.ts";

/**
 * Pictures and PDF pages of other hands: the inks they print in against those of another program. False when one prints in
 * others without a word and is not explained in the text.
 */
export const inksOf = async (explained: string, most = { pages: 170, pictures: 240 }): Promise<boolean> => {
  const kinds = [
    ["pictures", "tificc", pictures, most.pictures],
    ["pages", "gs", pages, most.pages],
  ] as const;
  let good = true;
  for (const [kind, judge, run, count] of kinds) {
    if (!has(judge)) {
      console.log(`skipped: ${kind}, there is no ${judge}`);
      continue;
    }
    const { all, missing } = await run(count, (one: Fared) => {
      if (one.refused.length > 0) console.log(`refused ${one.refused.join(", ")}  ${one.file}`);
      if (one.file.endsWith(")") && one.refused.length === 0) console.log(`not judged  ${one.file}`);
      if ((one.differs ?? 0) > EQUAL)
        console.log(`${(100 * (one.differs ?? 0)).toFixed(1)} %  ${one.told.join(", ")}  ${one.file}`);
    });
    for (const name of missing) console.log(`skipped: the Debian package ${name} is not installed`);
    const { lines, silent } = summed(kind, all);
    for (const line of lines) console.log(line);
    const unexplained = silent.filter(({ file }) => !explained.includes(basename(file)));
    for (const { file } of unexplained) console.log(`not explained: ${file}`);
    good &&= unexplained.length === 0;
  }
  return good;
};
