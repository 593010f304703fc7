import type { Effort } from "@kitforme/nest";
import type { Pattern, PatternBook } from "./pattern-book.ts";

/** A cut geometry and how many sheets carry it. */
export interface Geometry {
  readonly pattern: Pattern;
  readonly run: number;
}

/** What has to be made on one field. */
export interface Quota {
  readonly field: number;
  /** Copies of every footprint; 0 for those that are made elsewhere. */
  readonly need: readonly number[];
  /** Footprints of which not one copy more may be made. */
  readonly exact: readonly boolean[];
}

export interface Costs {
  readonly sheetChange: number;
  readonly newLayout: number;
}

export interface Search {
  readonly book: PatternBook;
  readonly costs: Costs;
  readonly effort: Effort;
  readonly threads: number;
  readonly signal?: AbortSignal | undefined;
  /** Called with how much of the search is done, 0 to 1, and the sheets of the best plan so far. */
  readonly onProgress?: (done: number, sheets: number) => void;
}

export const priceOf = (geometries: readonly Geometry[], costs: Costs): number =>
  costs.sheetChange * sheetsOf(geometries) + costs.newLayout * geometries.length;

export const sheetsOf = (geometries: readonly Geometry[]): number => geometries.reduce((n, g) => n + g.run, 0);

/** Places of all geometries together. */
export const placesOf = (geometries: readonly Geometry[]): number =>
  geometries.reduce((n, g) => n + g.pattern.placed.length, 0);
