import { Room } from "./engine.ts";
import { FAR, type NearestRequest } from "./request-nearest.ts";
import type { Runs } from "./runs.ts";

/** A set of pixels in the engine's memory. */
export interface PlacedRuns {
  readonly start: number;
  readonly ends: number;
}

/**
 * For every target pixel in the order of the runs, as segments of pixels that share a source, two numbers each: the place in
 * the picture after the last of them, and the source's; -1 where none is within the limit. No segment goes past its run.
 */
export type Segments = Int32Array;

export const place = (room: Room, { start, ends }: Runs): PlacedRuns => ({
  start: room.copy(start),
  ends: room.copy(ends),
});

/** Bytes of an answer after which it is taken off: a fraction of what a processor keeps near. */
const PORTION = 128 * 1024;

/**
 * Begins the search over sets that lie in the engine's memory; `portionsOf` gives its answer.
 */
export const beginSearch = (
  room: Room,
  source: PlacedRuns,
  target: PlacedRuns,
  { width, reach, limit, stride, offset, rows }: Omit<NearestRequest, "source" | "target"> & { readonly rows: number },
): void => {
  // Columns are looked at in blocks of 16, and four to either side.
  const up = room.array(width + 16);
  const down = room.array(width + 16);
  const last = room.array(width);
  // Four numbers a segment.
  const stack = room.array(4 * width);
  const voids = room.array((width >> 4) + 1);
  const lively = room.array((width >> 4) + 1);
  const heights = room.array(width + 28) + 16;
  const stopStart = room.array(rows + 2);
  const stops = room.array(0);
  room.fit();
  const end = room.engine.begin(
    rows,
    width,
    source.start,
    source.ends,
    target.start,
    target.ends,
    up,
    down,
    last,
    stack,
    voids,
    lively,
    heights,
    stopStart,
    stops,
    reach,
    Math.min(Math.ceil(limit ?? FAR), Math.max(width, rows)),
    limit ?? -1,
    stride,
    offset,
  );
  room.taken(end);
};

/**
 * The answer of the search begun, in portions of whole rows: the segments, a view that the next portion overwrites, and the
 * rows they are of. Ends the room.
 */
export const eachPortion = (
  room: Room,
  rows: number,
  width: number,
  take: (segments: Segments, fromRow: number, toRow: number) => void,
): void => {
  const { more, reached } = room.engine;
  // A row more may follow a full portion: no more segments than columns.
  const into = room.array(PORTION / 4 + 2 * width);
  room.fit();
  for (let from = 0; from < rows; ) {
    const end = more(into, PORTION);
    const to = reached();
    take(room.view(into, (end - into) >> 2), from, to);
    from = to;
  }
  room.close();
};
