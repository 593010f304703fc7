// What the corpora of drawings, pictures and PDFs share: files of Debian packages, a sample that is the same everywhere, and the
// count of how they fared. The files stay where their packages put them; nothing of them is in this repository.
import { createHash } from "node:crypto";
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";

/** A Debian package and the folder it fills. */
export interface Source {
  readonly package: string;
  readonly folder: string;
}

/** Files with one of these endings in a folder, at any depth, sorted; links are passed over. */
const filesIn = (folder: string, ending: RegExp): string[] =>
  readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && ending.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name))
    .filter((path) => statSync(path).size <= 8_000_000)
    .sort();

/** A sample of the files of those packages that are installed: by the hash of their paths, so that it stays when others are added. */
export const sampleOf = (
  sources: readonly Source[],
  ending: RegExp,
  most: number,
): { readonly files: readonly string[]; readonly missing: readonly string[] } => {
  const here = sources.filter(({ folder }) => existsSync(folder));
  const ranked = here
    .flatMap(({ folder }) => filesIn(folder, ending))
    .map((path) => ({ path, rank: createHash("sha256").update(path).digest("hex") }))
    .sort((a, b) => (a.rank < b.rank ? -1 : 1));
  return {
    files: ranked.slice(0, most).map(({ path }) => path),
    missing: sources.filter((one) => !here.includes(one)).map((one) => one.package),
  };
};

/** How one file fared. */
export interface Fared {
  readonly file: string;
  /** Rules of its errors: it was refused for them. */
  readonly refused: readonly string[];
  /** Rules of its warnings and notes. */
  readonly told: readonly string[];
  /** What a drawing became, where that was seen. */
  readonly printed?: "vectors" | "pixels";
  /** Share of pixels beyond edges that an independent renderer draws otherwise; undefined when nothing was compared. */
  readonly differs?: number;
  /** Levels of ink within which it counts as equal, where they were measured. */
  readonly within?: number;
}

/** Share of pixels within which two renderings count as equal. */
export const EQUAL = 0.01;

/** Rules about how a file is written, not about what is missing from it or what cannot be printed. */
const FORM =
  /^(drawing-|doctype-|element-refused|script-refused|data-image-refused|value-unreadable|unit-unknown|css-refused)/;

const refusedForForm = (all: readonly Fared[]): number =>
  all.filter(({ refused }) => refused.some((rule) => FORM.test(rule))).length;

const percent = (part: number, whole: number): string => `${((100 * part) / Math.max(1, whole)).toFixed(1)} %`;

/** What a run found, in lines for people, and the files that differ without a word. */
export const summed = (
  kind: string,
  all: readonly Fared[],
): { readonly lines: readonly string[]; readonly silent: readonly Fared[]; readonly takenIn: number } => {
  const taken = all.filter(({ refused }) => refused.length === 0);
  const compared = taken.filter(({ differs }) => differs !== undefined);
  const equal = compared.filter(({ differs = 1 }) => differs <= EQUAL);
  const unequal = compared.filter(({ differs = 0 }) => differs > EQUAL);
  const silent = unequal.filter(({ told }) => told.length === 0);
  const counts = new Map<string, number>();
  for (const { refused, told } of all)
    for (const rule of [...refused.map((r) => `refused ${r}`), ...told.map((r) => `told ${r}`)])
      counts.set(rule, (counts.get(rule) ?? 0) + 1);
  return {
    silent,
    takenIn: taken.length / Math.max(1, all.length),
    lines: [
      `${kind}: ${all.length} files`,
      `  taken in   ${taken.length} (${percent(taken.length, all.length)})`,
      `  refused for their form ${refusedForForm(all)} (${percent(refusedForForm(all), all.length)})`,
      ...(taken.some(({ printed }) => printed)
        ? [`  as vectors ${taken.filter(({ printed }) => printed === "vectors").length}`]
        : []),
      `  compared   ${compared.length}: equal ${equal.length} (${percent(equal.length, compared.length)}), different and reported ${unequal.length - silent.length} (${percent(unequal.length - silent.length, compared.length)}), different in silence ${silent.length}`,
      ...[...counts].sort(([, a], [, b]) => b - a).map(([rule, count]) => `  ${String(count).padStart(5)} ${rule}`),
    ],
  };
};
