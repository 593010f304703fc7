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
import type { Runs } from "./runs.ts";

/** For every target pixel, in the order of the runs, the index of its source; -1 where none is within `limit`. */
export interface NearestMap {
  readonly target: Runs;
  readonly from: Int32Array;
  /** Sum of the lengths of the runs before each row. */
  readonly before: Int32Array;
}

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

const FAR = 1 << 28;

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

/** The lower envelope over columns lo..hi for places a..b-1; answers the number of segments. */
const envelope = (desk: Desk, y: number, a: number, b: number, lo: number, hi: number, reach: number): number => {
  const { up, down, column, height, row, place } = desk;
  let q = -1;
  for (let u = lo; u <= hi; u++) {
    const above = up[u] as number;
    const below = down[u] as number;
    let g = y - above;
    let r = above;
    if (below - y < g) {
      g = below - y;
      r = below;
    }
    if (g > reach) continue;
    const h = g * g;
    // The left column wins a tie: it stays unless the new one is strictly nearer.
    while (q >= 0) {
      const t = place[q] as number;
      const i = column[q] as number;
      if ((t - i) * (t - i) + (height[q] as number) <= (t - u) * (t - u) + h) break;
      q--;
    }
    let w = a;
    if (q >= 0) {
      const i = column[q] as number;
      const rise = h - (height[q] as number);
      // First place where u is strictly nearer than i. Neighbours, the usual case, need no division.
      w = u - i === 1 ? u + ((rise + 1) >> 1) : 1 + Math.floor(((u - i) * (u + i) + rise) / (2 * (u - i)));
      if (w >= b) continue;
    }
    q++;
    column[q] = u;
    height[q] = h;
    row[q] = r;
    place[q] = w;
  }
  return q + 1;
};

/** Writes the segments; answers the largest squared distance. */
const write = (
  desk: Desk,
  n: number,
  a: number,
  b: number,
  into: Int32Array,
  at: number,
  stride: number,
  offset: number,
) => {
  const { column, height, row, place } = desk;
  let most = 0;
  for (let q = 0; q < n; q++) {
    const from = place[q] as number;
    const to = q + 1 < n ? (place[q + 1] as number) : b;
    const i = column[q] as number;
    const index = (row[q] as number) * stride + i + offset;
    const left = (from - i) * (from - i) + (height[q] as number);
    const right = (to - 1 - i) * (to - 1 - i) + (height[q] as number);
    if (left > most) most = left;
    if (right > most) most = right;
    for (let x = from; x < to; x++) into[at + x - a] = index;
  }
  return most;
};

/** -1 for every pixel of the run whose source is farther than the limit. */
const dropFar = (desk: Desk, n: number, a: number, b: number, into: Int32Array, at: number, limit: number): void => {
  const { column, height, place } = desk;
  for (let q = 0; q < n; q++) {
    const to = q + 1 < n ? (place[q + 1] as number) : b;
    for (let x = place[q] as number; x < to; x++)
      if ((x - (column[q] as number)) ** 2 + (height[q] as number) > limit * limit) into[at + x - a] = -1;
  }
};

/** The nearest source of every target pixel: Euclidean, exact, ties to the left column, then to the upper row. */
export const nearest = (request: NearestRequest): NearestMap => {
  const { source, target, width, stride, offset } = request;
  const { rows } = target;
  const before = new Int32Array(rows + 1);
  for (let y = 0, sum = 0; y < rows; y++) {
    for (let i = target.start[y] as number; i < (target.start[y + 1] as number); i += 2)
      sum += (target.ends[i + 1] as number) - (target.ends[i] as number);
    before[y + 1] = sum;
  }
  const from = new Int32Array(before[rows] as number);
  const stops = findEnds(source, width);
  const desk: Desk = {
    up: new Int32Array(width).fill(-FAR),
    down: stops.first,
    column: new Int32Array(width),
    height: new Int32Array(width),
    row: new Int32Array(width),
    place: new Int32Array(width),
  };
  const whole = Math.min(Math.ceil(request.limit ?? FAR), Math.max(width, rows));
  for (let y = 0; y < rows; y++) {
    for (let i = stops.start[y] as number; i < (stops.start[y + 1] as number); i++) {
      const x = stops.at[i] as number;
      desk.up[x] = y - 1;
      desk.down[x] = stops.next[i] as number;
    }
    let s = source.start[y] as number;
    const sEnd = source.start[y + 1] as number;
    let at = before[y] as number;
    for (let i = target.start[y] as number; i < (target.start[y + 1] as number); i += 2) {
      const a = target.ends[i] as number;
      const b = target.ends[i + 1] as number;
      while (s < sEnd && (source.ends[s] as number) < b) s += 2;
      const left = s > (source.start[y] as number) ? (source.ends[s - 1] as number) - 1 : -1;
      const right = s < sEnd ? (source.ends[s] as number) : width;
      spanOf(desk, y, a, b, left, right, width, request.reach, whole, from, at, stride, offset, request.limit);
      at += b - a;
    }
  }
  return { target, from, before };
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
  at: number,
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
    const n = envelope(desk, y, a, b, lo, hi, reach);
    if (n > 0) {
      const most = write(desk, n, a, b, from, at, stride, offset);
      if (most <= reach * reach) return;
      if (reach >= whole) {
        if (limit !== undefined) dropFar(desk, n, a, b, from, at, limit);
        return;
      }
    } else if (reach >= whole) {
      from.fill(-1, at, at + b - a);
      return;
    }
  }
};
