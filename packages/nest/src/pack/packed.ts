import type { Catalogues } from "../maps/catalogues.ts";
import type { Effort, Field, Footprint } from "../shapes/footprint.ts";
import type { StartThread } from "./thread.ts";

/** One piece to place. */
export interface PackItem {
  /** Index into the footprints. */
  readonly footprint: number;
  /** The caller's own number for it. */
  readonly key: number;
}

/** One sheet with pieces; x and y are whole micrometres, turns degrees counter-clockwise. */
export interface Packed {
  /** Index into the fields. */
  readonly field: number;
  readonly placements: readonly {
    readonly key: number;
    readonly turn: number;
    readonly x: number;
    readonly y: number;
  }[];
}

/** How far a search is. */
export interface PackProgress {
  readonly done: number;
  readonly of: number;
  readonly sheets: number;
  /** Fraction of the used sheets' bounds that is covered, 0..1. */
  readonly yield: number;
}

/** Shapes to be placed on as few sheets as they go. Micrometres; the same request gives the same answer. */
export interface PackRequest {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  readonly items: readonly PackItem[];
  readonly effort: Effort;
  readonly seed: number;
  /** Rougher shapes, never smaller ones: for a large request that is wanted at once. */
  readonly draft?: boolean;
  readonly maxSheets?: number;
  /** Overlap maps made by earlier calls about the same footprints, and kept for later ones; left out, they go with the call. */
  readonly catalogues?: Catalogues;
  /** Threads that search beside each other; the result does not depend on it. 0 or 1: none. */
  readonly threads?: number;
  /** How they are started; left out, by Node's `Worker`. */
  readonly startThread?: StartThread;
  readonly signal?: AbortSignal;
  /** Asked between sweeps: end the search with the best so far. For benches with a clock. */
  readonly stop?: () => boolean;
  readonly onProgress?: (progress: PackProgress) => void;
}

/** A piece that no sheet takes, and by how much its best turn misses (micrometres; 0 = keep-outs or `maxSheets`). */
export interface Leftover {
  readonly key: number;
  readonly overWidth: number;
  readonly overHeight: number;
}

export interface PackResult {
  readonly sheets: Packed[];
  readonly leftovers: Leftover[];
  /** Pieces whose place the proof refused and which were placed anew: 0 unless the search is wrong. */
  readonly mended: number;
}
