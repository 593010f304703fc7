import { mkdir, readFile, rename, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { fitJob } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { fileOf } from "../file-of.ts";
import type { Outlet } from "../outlet.ts";
import { refuse } from "../refuse.ts";
import { findingsInWords } from "../words.ts";

export interface FitOptions {
  readonly job: string;
  readonly sheet: number;
  readonly seen: string;
  readonly out: string;
}

/** Cut files of one sheet moved to where the sheet was printed, by the marks as a camera read them. */
export const fit = async ({ job, sheet, seen, out }: FitOptions, outlet: Outlet): Promise<number> => {
  const { value, findings } = await fitJob((name) => fileOf(job, name), sheet, await readFile(seen, "utf8"));
  if (!value) return refuse(findings, "No cut file was written", outlet);
  for (const finding of findings) outlet.event("finding", finding);
  for (const words of findingsInWords(findings)) outlet.say(words);
  await mkdir(out, { recursive: true });
  for (const { name, bytes } of value.files) {
    await writeFile(join(out, `${name}.part`), bytes);
    await rename(join(out, `${name}.part`), join(out, name));
  }
  const { model, residuals, worst, turn, scale, shift, files } = value;
  const names = files.map(({ name }) => name);
  outlet.event("fitted", { sheet, model, residuals, worst, turn, scale, shift, files: names });
  outlet.tell(
    `Sheet ${sheet} lies ${shift[0].toFixed(2)} mm to the right, ${shift[1].toFixed(2)} mm up, turned by ${turn.toFixed(3)} degrees, at ${(scale * 100).toFixed(2)} %.`,
  );
  outlet.tell(`Fit (${model}): no mark is off by more than ${worst.toFixed(3)} mm. Written: ${names.join(", ")}.`);
  return EXIT.done;
};
