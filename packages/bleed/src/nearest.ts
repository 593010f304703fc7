// Exact nearest source of every target pixel, along runs.
//
//   row y:   . . . S S S T T T T T T T T . .        S source   T target run   . neither
//                    ^L  \___ target ___/    ^ L + window R
//
// Every column knows its nearest source above and below (`up`, `down`), kept current by the columns whose state toggles
// between two rows. A target run then only looks at the columns of its own width plus R on both sides, never past the first
// source pixel of its row on either side, and takes the lower envelope of their parabolas (Meijster's second phase). Work and
// memory go with the band, not with the picture.
//
// A result no farther than R is exact: a nearer source would have |dx| <= R and |dy| <= R and was looked at. R is first
// guessed from the bleed; a contour spike thinner than a pixel holds no source, so a run can have its source beyond R (1 of
// 1,385,727 pixels of a traced contour at 600 ppi). Such a run is done again with twice R.
//
// Tried and left: full-image transforms (40 times slower), jump flooding and ordered fronts (not exact).
import { type Desk, deskOf, dropFar, envelope, passEnds, write } from "./envelope.ts";
import { FAR, type NearestRequest, type SpanSink } from "./request-nearest.ts";
import { findEnds } from "./stops.ts";

/** The nearest source of every target pixel, Euclidean, exact, ties to the left column, then to the upper row: run by run,
 * top to bottom. Remembers nothing of the runs done. */
export const nearestSpans = (request: NearestRequest, sink: SpanSink): void => {
  const { source, target, width, stride, offset, limit } = request;
  const { rows } = target;
  const stops = findEnds(source, width);
  const desk = deskOf(stops, width);
  const whole = Math.min(Math.ceil(limit ?? FAR), Math.max(width, rows));
  const from = new Int32Array(width);
  for (let y = 0; y < rows; y++) {
    passEnds(desk, stops, y);
    const sStart = source.start[y];
    const sEnd = source.start[y + 1];
    const tEnd = target.start[y + 1];
    let s = sStart;
    for (let i = target.start[y]; i < tEnd; i += 2) {
      const a = target.ends[i];
      const b = target.ends[i + 1];
      while (s < sEnd && source.ends[s] < b) s += 2;
      const left = s > sStart ? source.ends[s - 1] - 1 : -1;
      const right = s < sEnd ? source.ends[s] : width;
      spanOf(desk, y, a, b, left, right, width, request.reach, whole, from, stride, offset, limit);
      sink(y, a, b - a, from, 0);
    }
  }
};

/** One target run, with R doubled until its farthest pixel proves it large enough. */
const spanOf = (
  desk: Desk,
  y: number,
  a: number,
  b: number,
  left: number,
  right: number,
  width: number,
  guess: number,
  whole: number,
  from: Int32Array,
  stride: number,
  offset: number,
  limit: number | undefined,
): void => {
  // The source pixels that end the search lie in this row. Both values of such a column are set anew where its source stops.
  if (left >= 0) {
    desk.up[left] = y;
    desk.down[left] = FAR;
  }
  if (right < width) {
    desk.up[right] = y;
    desk.down[right] = FAR;
  }
  for (let reach = Math.min(guess, whole); ; reach = Math.min(2 * reach, whole)) {
    const lo = Math.max(a - reach, left, 0);
    const hi = Math.min(b - 1 + reach, right, width - 1);
    const n = envelope(desk, y, a - lo, b - lo, lo, hi, reach);
    if (n > 0) {
      const most = write(desk, n, a - lo, b - lo, from, stride, offset + lo);
      if (most <= reach * reach) return;
      if (reach >= whole) {
        if (limit !== undefined) dropFar(desk, n, a - lo, b - lo, from, limit);
        return;
      }
    } else if (reach >= whole) {
      from.fill(-1, 0, b - a);
      return;
    }
  }
};
