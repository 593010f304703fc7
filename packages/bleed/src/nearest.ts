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
import { FAR, type NearestRequest, type SpanSink } from "./request-nearest.ts";
import type { Runs } from "./runs.ts";

/** What toggles between rows: for the columns where source stops above row y, when it starts again. */
interface Ends {
  /** Of row y: `at[start[y]] … at[start[y + 1]]` are columns, `next` the rows where source starts again below. */
  readonly start: Int32Array;
  readonly at: Int32Array;
  readonly next: Int32Array;
  /** First source row of every column. */
  readonly first: Int32Array;
}

const toggledColumns = (source: Runs): number => {
  // The least that can hold all: every run end moves by some columns from row to row; counted by a dry walk.
  let sum = 0;
  const { start, ends, rows } = source;
  for (let y = 0; y < rows; y++) {
    let i = start[y] as number;
    const iEnd = start[y + 1] as number;
    let j = y + 1 < rows ? iEnd : 0;
    const jEnd = y + 1 < rows ? (start[y + 2] as number) : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? (ends[i] as number) : FAR;
      const xb = j < jEnd ? (ends[j] as number) : FAR;
      const x = xa < xb ? xa : xb;
      if (state === 1) sum += x - from;
      from = x;
      if (xa === x) {
        i++;
        state ^= 1;
      }
      if (xb === x) {
        j++;
        state ^= 2;
      }
    }
  }
  return sum;
};

const findEnds = (source: Runs, width: number): Ends => {
  const { start, ends, rows } = source;
  const stops = toggledColumns(source);
  const at = new Int32Array(stops);
  const next = new Int32Array(stops).fill(FAR);
  const stopStart = new Int32Array(rows + 2);
  const first = new Int32Array(width).fill(FAR);
  const last = new Int32Array(width).fill(-1);
  let n = 0;
  for (let y = 0; y <= rows; y++) {
    stopStart[y] = n;
    // a: the row above, b: this row.
    let i = y > 0 ? (start[y - 1] as number) : 0;
    const iEnd = y > 0 ? (start[y] as number) : 0;
    let j = y < rows ? (start[y] as number) : 0;
    const jEnd = y < rows ? (start[y + 1] as number) : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? (ends[i] as number) : FAR;
      const xb = j < jEnd ? (ends[j] as number) : FAR;
      const x = xa < xb ? xa : xb;
      if (state === 1) {
        for (let c = from; c < x; c++) {
          at[n] = c;
          last[c] = n++;
        }
      } else if (state === 2) {
        for (let c = from; c < x; c++) {
          const l = last[c] as number;
          if (l < 0) first[c] = y;
          else next[l] = y;
        }
      }
      from = x;
      if (xa === x) {
        i++;
        state ^= 1;
      }
      if (xb === x) {
        j++;
        state ^= 2;
      }
    }
  }
  stopStart[rows + 1] = n;
  return { start: stopStart, at, next, first };
};

/** Working arrays of one search. */
interface Desk {
  readonly up: Int32Array;
  readonly down: Int32Array;
  /** The envelope: column, squared height, row and first place of each segment. */
  readonly column: Int32Array;
  readonly height: Int32Array;
  readonly row: Int32Array;
  readonly place: Int32Array;
}

/** The lower envelope over columns lo..hi for places a..b-1, both counted from lo; answers the number of segments.
 * Counting from lo keeps all squares within 32 bits whatever the width of the picture. */
const envelope = (desk: Desk, y: number, a: number, b: number, lo: number, hi: number, reach: number): number => {
  const { up, down, column, height, row, place } = desk;
  const last = (hi - lo) | 0;
  let q = -1;
  // The top of the stack, held out of the arrays.
  let i = 0;
  let h = 0;
  let t = 0;
  for (let u = 0; u <= last; u = (u + 1) | 0) {
    const above = up[lo + u] as number;
    const below = down[lo + u] as number;
    let g = (y - above) | 0;
    let r = above;
    if (((below - y) | 0) < g) {
      g = (below - y) | 0;
      r = below;
    }
    if (g > reach) continue;
    const hu = Math.imul(g, g);
    // The left column wins a tie: it stays unless the new one is strictly nearer.
    while (q >= 0) {
      const old = (t - i) | 0;
      const now = (t - u) | 0;
      if (((Math.imul(old, old) + h) | 0) <= ((Math.imul(now, now) + hu) | 0)) break;
      q = (q - 1) | 0;
      if (q >= 0) {
        i = column[q] as number;
        h = height[q] as number;
        t = place[q] as number;
      }
    }
    let w = a;
    if (q >= 0) {
      const rise = (hu - h) | 0;
      const gap = (u - i) | 0;
      // First place where u is strictly nearer than i; never negative here. Neighbours, the usual case, need no division.
      w =
        gap === 1
          ? (u + ((rise + 1) >> 1)) | 0
          : (1 + ((((Math.imul(gap, (u + i) | 0) + rise) | 0) / (gap << 1)) | 0)) | 0;
      if (w >= b) continue;
    }
    q = (q + 1) | 0;
    column[q] = i = u;
    height[q] = h = hu;
    row[q] = r;
    place[q] = t = w;
  }
  return (q + 1) | 0;
};

/** Writes the segments; answers the largest squared distance. `into[0]` is place a, `base` the index of column lo in row 0. */
const write = (desk: Desk, n: number, a: number, b: number, into: Int32Array, stride: number, base: number): number => {
  const { column, height, row, place } = desk;
  let most = 0;
  let x = a;
  let o = 0;
  for (let q = 0; q < n; q = (q + 1) | 0) {
    const to = q + 1 < n ? (place[q + 1] as number) : b;
    const i = column[q] as number;
    const index = (Math.imul(row[q] as number, stride) + i + base) | 0;
    const left = (x - i) | 0;
    const right = (to - 1 - i) | 0;
    const far = Math.max(Math.imul(left, left), Math.imul(right, right)) + (height[q] as number);
    if (far > most) most = far;
    for (; x < to; x = (x + 1) | 0) {
      into[o] = index;
      o = (o + 1) | 0;
    }
  }
  return most;
};

/** -1 for every pixel of the run whose source is farther than the limit. */
const dropFar = (desk: Desk, n: number, a: number, b: number, into: Int32Array, limit: number): void => {
  const { column, height, place } = desk;
  for (let q = 0; q < n; q++) {
    const to = q + 1 < n ? (place[q + 1] as number) : b;
    for (let x = place[q] as number; x < to; x++)
      if ((x - (column[q] as number)) ** 2 + (height[q] as number) > limit * limit) into[x - a] = -1;
  }
};

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
    const sStart = source.start[y] as number;
    const sEnd = source.start[y + 1] as number;
    const tEnd = target.start[y + 1] as number;
    let s = sStart;
    for (let i = target.start[y] as number; i < tEnd; i += 2) {
      const a = target.ends[i] as number;
      const b = target.ends[i + 1] as number;
      while (s < sEnd && (source.ends[s] as number) < b) s += 2;
      const left = s > sStart ? (source.ends[s - 1] as number) - 1 : -1;
      const right = s < sEnd ? (source.ends[s] as number) : width;
      spanOf(desk, y, a, b, left, right, width, request.reach, whole, from, stride, offset, limit);
      sink(y, a, b - a, from, 0);
    }
  }
};

const deskOf = (stops: Ends, width: number): Desk => ({
  up: new Int32Array(width).fill(-FAR),
  down: stops.first,
  column: new Int32Array(width),
  height: new Int32Array(width),
  row: new Int32Array(width),
  place: new Int32Array(width),
});

/** Brings the columns whose source stopped above row y up to date. */
const passEnds = ({ up, down }: Desk, stops: Ends, y: number): void => {
  const end = stops.start[y + 1] as number;
  for (let i = stops.start[y] as number; i < end; i++) {
    const x = stops.at[i] as number;
    up[x] = y - 1;
    down[x] = stops.next[i] as number;
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
