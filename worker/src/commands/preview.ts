import { resolve } from "node:path";
import { besideFile, type Finding, hasErrors, openPreviews, type Previews } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { say } from "../faults.ts";
import { readNamed } from "../files.ts";
import { faultOfKits } from "../kit-folders.ts";
import { kitsInFolder } from "../kits-of-user.ts";
import type { Outlet } from "../outlet.ts";
import type { Stop } from "../stop.ts";
import { refuse } from "../refuse.ts";
import { countInWords, findingsInWords } from "../words.ts";
import { writeFiles } from "../write-files.ts";

export interface PreviewCommandOptions {
  readonly shop: string;
  readonly kits: string;
  readonly kit: string;
  readonly piece?: string;
  /** JSON, or the path of a file that holds it. */
  readonly copy?: string;
  readonly out: string;
  readonly flaws?: boolean;
  /** The reverse of the pieces, turned over left for right. */
  readonly back?: boolean;
}

interface Copy {
  readonly words: unknown;
  /** Buyers' pictures lie beside it. */
  readonly read: (path: string) => Promise<Uint8Array | undefined>;
}

const NONE = "No picture was written";

/** Pieces as they look when cut; with `flaws`, every finding of the kit drawn at its place. */
export const preview = async (options: PreviewCommandOptions, outlet: Outlet, stop: Stop): Promise<number> => {
  const shop = await readNamed(options.shop, "The shop's file");
  const kitsFault = await faultOfKits(options.kits);
  const copy = await readCopy(options.copy);
  const faults = [
    ...("finding" in shop ? [shop.finding] : []),
    ...(kitsFault ? [kitsFault] : []),
    ...("finding" in copy ? [copy.finding] : []),
  ];
  if ("finding" in shop || "finding" in copy || faults.length > 0) return refuse(faults, NONE, outlet);
  const input = { shop: { file: options.shop, text: shop.text }, kits: kitsInFolder(options.kits), kit: options.kit };
  const { value: previews, findings } = await openPreviews(input);
  if (!previews) return refuse(findings, NONE, outlet);
  try {
    const { files, met } = options.flaws
      ? await flawsOf(previews, options)
      : await picturesOf(previews, copy, options, findings);
    if (files.length === 0) return refuse(met, NONE, outlet);
    await writeFiles(files, stop);
    for (const finding of met) outlet.event("finding", finding);
    for (const words of findingsInWords(met)) outlet.say(words);
    const paths = files.map(({ path }) => path);
    outlet.event("previewed", { kit: previews.kit, files: paths, findings: met.length, ok: !hasErrors(met) });
    outlet.tell(`Written: ${paths.join(", ")} (${countInWords(met)}).`);
    return hasErrors(met) ? EXIT.input : EXIT.done;
  } finally {
    await previews.close();
  }
};

interface Made {
  readonly files: readonly { readonly path: string; readonly bytes: Uint8Array }[];
  readonly met: readonly Finding[];
}

/** The name of a picture of its own beside FILE.png: FILE-PIECE.png. */
const beside = (out: string, ending: string): string => `${out.replace(/\.(png|html)$/i, "")}${ending}`;

const picturesOf = async (
  previews: Previews,
  { words, read }: Copy,
  { piece, out, back }: PreviewCommandOptions,
  findings: readonly Finding[],
): Promise<Made> => {
  const names = piece === undefined ? previews.pieces.map((p) => p.piece) : [piece];
  // What is wrong with other pieces is no answer to a question about this one.
  const aboutAll = piece === undefined ? findings : findings.filter((f) => f.where.piece === undefined);
  const met: Finding[] = [...aboutAll];
  const files: { path: string; bytes: Uint8Array }[] = [];
  for (const name of names) {
    const made = await previews.preview(name, words, read, back ? "back" : "front");
    met.push(...made.findings);
    if (made.png) files.push({ path: names.length === 1 ? out : beside(out, `-${name}.png`), bytes: made.png });
  }
  const distinct = new Map(met.map((finding) => [JSON.stringify(finding), finding]));
  return { files, met: [...distinct.values()] };
};

const flawsOf = async (previews: Previews, { piece, out }: PreviewCommandOptions): Promise<Made> => {
  const { html, pictures, findings } = await previews.flaws(piece);
  return {
    files: [
      ...pictures.map(({ piece: name, png }) => ({ path: beside(out, `-${name}.png`), bytes: png })),
      { path: beside(out, ".html"), bytes: html },
    ],
    met: findings,
  };
};

/** `{...}` is the copy itself; anything else is the path of its file. */
const readCopy = async (copy: string | undefined): Promise<Copy | { readonly finding: Finding }> => {
  const here = besideFile(resolve("copy.json"));
  if (copy === undefined) return { words: {}, read: here };
  const inline = copy.trimStart().startsWith("{");
  const file = inline ? { text: copy } : await readNamed(copy, "The copy's words");
  if ("finding" in file) return file;
  try {
    return { words: JSON.parse(file.text) as unknown, read: inline ? here : besideFile(copy) };
  } catch {
    return { finding: say("copy-no-json", inline ? {} : { file: copy }, {}) };
  }
};
