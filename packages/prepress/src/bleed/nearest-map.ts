import { nearestSpans } from "./nearest.ts";
import { searchInWasm } from "./nearest-wasm.ts";
import type { NearestMap, NearestRequest } from "./request-nearest.ts";
import { count, type Runs } from "./runs.ts";

/** Pixels before each row of a set. */
export const beforeRows = ({ start, ends, rows }: Runs): Int32Array => {
  const before = new Int32Array(rows + 1);
  for (let y = 0, sum = 0; y < rows; y++) {
    for (let i = start[y] as number; i < (start[y + 1] as number); i += 2)
      sum += (ends[i + 1] as number) - (ends[i] as number);
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

/** The nearest source of every target pixel as a map that can be kept: contour and source set decide it, not the colours. */
export const nearest = (request: NearestRequest): NearestMap => ({
  target: request.target,
  from: searchInWasm(request).slice(),
  before: beforeRows(request.target),
});
