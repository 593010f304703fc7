import { Room } from "./engine.ts";
import { nearestSpans } from "./nearest.ts";
import { beginSearch, eachPortion, place } from "./nearest-wasm.ts";
import type { NearestMap, NearestRequest } from "./request-nearest.ts";
import { count, type Runs } from "./runs.ts";

/** Pixels before each row of a set. */
export const beforeRows = ({ start, ends, rows }: Runs): Int32Array => {
  const before = new Int32Array(rows + 1);
  for (let y = 0, sum = 0; y < rows; y++) {
    for (let i = start[y]; i < start[y + 1]; i += 2) sum += ends[i + 1] - ends[i];
    before[y + 1] = sum;
  }
  return before;
};

/** The plain search, as a map that can be kept: the reference. */
export const nearestPlain = (request: NearestRequest): NearestMap => {
  const { target } = request;
  const from = new Int32Array(count(target));
  let at = 0;
  nearestSpans(request, (_y, _x, n, sources) => {
    from.set(sources.subarray(0, n), at);
    at += n;
  });
  return { target, from, before: beforeRows(target) };
};

/** The same by the engine: the source of every target pixel. */
const search = (request: NearestRequest): Int32Array => {
  const { target, width, stride, offset } = request;
  const { start, ends, rows } = target;
  const room = new Room();
  beginSearch(room, place(room, request.source), place(room, target), { ...request, rows });
  const from = new Int32Array(count(target));
  let at = 0;
  eachPortion(room, rows, width, (segments, fromRow, toRow) => {
    let segment = 0;
    for (let y = fromRow; y < toRow; y++) {
      const row = y * stride + offset;
      for (let i = start[y]; i < start[y + 1]; i += 2) {
        const end = row + ends[i + 1];
        for (let pixel = row + ends[i]; pixel < end; segment += 2) {
          const to = segments[segment];
          const source = segments[segment + 1];
          for (; pixel < to; pixel++) from[at++] = source;
        }
      }
    }
  });
  return from;
};

/** The nearest source of every target pixel as a map that can be kept: contour and source set decide it, not the colours. */
export const nearest = (request: NearestRequest): NearestMap => ({
  target: request.target,
  from: search(request),
  before: beforeRows(request.target),
});
