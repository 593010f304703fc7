import type { CutFormat } from "@kitforme/kit";
import type { CutSheet } from "./cut-sheet.ts";

/** How many cut geometries are kept: sheets of one follow each other. */
const MOST = 4;

interface Kept {
  readonly of: CutSheet;
  readonly made: Map<CutFormat, unknown>;
}

/**
 * What cut files of sheets with the same lines have in common: all but the sheet's name. Lines are the same where they are one
 * array, as sheets that are imposed together have them.
 */
export class CutBodies {
  #kept: readonly Kept[] = [];

  /** What `make` gives for a format, made once for sheets that are cut alike. */
  of<T>(sheet: CutSheet, format: CutFormat, make: () => T): T {
    const kept = this.#kept.find(({ of }) => isAlike(of, sheet)) ?? { of: sheet, made: new Map<CutFormat, unknown>() };
    this.#kept = [kept, ...this.#kept.filter((one) => one !== kept)].slice(0, MOST);
    if (!kept.made.has(format)) kept.made.set(format, make());
    return kept.made.get(format) as T;
  }
}

const isAlike = (a: CutSheet, b: CutSheet): boolean =>
  a.paths === b.paths &&
  a.marks === b.marks &&
  a.stock.cutter === b.stock.cutter &&
  a.width === b.width &&
  a.height === b.height;
