import type { Runs } from "./runs.ts";

/** For every target pixel, in the order of the runs, the index of its source; -1 where none is within `limit`. */
export interface NearestMap {
  readonly target: Runs;
  readonly from: Int32Array;
  /** Sum of the lengths of the runs before each row. */
  readonly before: Int32Array;
}

/** A search for the nearest source pixel of every target pixel, on one canvas. Lengths in pixels. */
export interface NearestRequest {
  readonly source: Runs;
  /** Holds no source pixel. */
  readonly target: Runs;
  /** Columns of the canvas of both. */
  readonly width: number;
  /** First guess of how far a source lies, pixels. */
  readonly reach: number;
  /** Sources farther than this count for nothing; left out: no limit. */
  readonly limit?: number;
  /** A source at (x, y) has the index y * stride + x + offset. */
  readonly stride: number;
  readonly offset: number;
}

/** Farther than any row or column. */
export const FAR = 1 << 28;

/** Takes one target run: row, first column, length, and where its sources stand. The array is used again for the next run. */
export type SpanSink = (y: number, x: number, n: number, sources: Int32Array, first: number) => void;
