// `npm run test:corpus [-- NUMBER]`: files of other hands through the product. Fails when too many are refused, or when one prints
// otherwise than an independent renderer draws it without a word and is not explained in README.md beside this.
// Views of what differs go to the folder that KITFORME_CORPUS_VIEWS names, if any.
import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import sharp from "sharp";
import { summed } from "./corpus.ts";
import { drawings } from "./drawings.ts";
import { inksOf } from "./inks.ts";

/** Refused for any reason at all: pictures that lie beside a drawing and are not in the corpus are among them. */
const MOST_REFUSED = 0.05;

const most = Number(process.argv[2] ?? 600);
const views = process.env["KITFORME_CORPUS_VIEWS"];
const explained = readFileSync(new URL("README.md", import.meta.url), "utf8");
const waiting: Promise<unknown>[] = [];

const { all, missing } = await drawings(most, ({ file, told, differs = 0, views: both, refused }, done) => {
  if (process.stderr.isTTY) process.stderr.write(`\r${done}`);
  if (refused.length > 0) console.log(`refused ${refused.join(", ")}  ${file}`);
  if (differs <= 0.01 || !both) return;
  console.log(`${(100 * differs).toFixed(1)} %  ${told.join(", ") || "SILENT"}  ${file}`);
  if (!views) return;
  const [mine, theirs, width, height] = both;
  const raw = { width, height, channels: 3 as const };
  const side = sharp(Buffer.from(mine), { raw })
    .extend({ right: width, background: "#fff" })
    .composite([{ input: Buffer.from(theirs), raw, left: width, top: 0 }])
    .png()
    .toFile(join(views, `${told.length > 0 ? "told" : "silent"}-${basename(file, ".svg")}.png`));
  waiting.push(side);
});
await Promise.all(waiting);
for (const name of missing) console.log(`skipped: the Debian package ${name} is not installed`);
const { lines, silent, takenIn } = summed("drawings", all);
for (const line of lines) console.log(line);
const unexplained = silent.filter(({ file }) => !explained.includes(basename(file)));
for (const { file } of unexplained) console.log(`not explained: ${file}`);
if (all.length > 0 && (1 - takenIn > MOST_REFUSED || unexplained.length > 0)) process.exitCode = 1;
if (!(await inksOf(explained))) process.exitCode = 1;
