// The lower envelope of the parabolas of one run's columns (Meijster's second phase).
import { FAR } from "./request-nearest.ts";
import type { Ends } from "./stops.ts";

/** Working arrays of one search. */
export interface Desk {
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
export const envelope = (
  desk: Desk,
  y: number,
  a: number,
  b: number,
  lo: number,
  hi: number,
  reach: number,
): number => {
  const { up, down, column, height, row, place } = desk;
  const last = (hi - lo) | 0;
  let q = -1;
  // The top of the stack, held out of the arrays.
  let i = 0;
  let h = 0;
  let t = 0;
  for (let u = 0; u <= last; u = (u + 1) | 0) {
    const above = up[lo + u];
    const below = down[lo + u];
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
        i = column[q];
        h = height[q];
        t = place[q];
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
export const write = (
  desk: Desk,
  n: number,
  a: number,
  b: number,
  into: Int32Array,
  stride: number,
  base: number,
): number => {
  const { column, height, row, place } = desk;
  let most = 0;
  let x = a;
  let o = 0;
  for (let q = 0; q < n; q = (q + 1) | 0) {
    const to = q + 1 < n ? place[q + 1] : b;
    const i = column[q];
    const index = (Math.imul(row[q], stride) + i + base) | 0;
    const left = (x - i) | 0;
    const right = (to - 1 - i) | 0;
    const far = Math.max(Math.imul(left, left), Math.imul(right, right)) + height[q];
    if (far > most) most = far;
    for (; x < to; x = (x + 1) | 0) {
      into[o] = index;
      o = (o + 1) | 0;
    }
  }
  return most;
};

/** -1 for every pixel of the run whose source is farther than the limit. */
export const dropFar = (desk: Desk, n: number, a: number, b: number, into: Int32Array, limit: number): void => {
  const { column, height, place } = desk;
  for (let q = 0; q < n; q++) {
    const to = q + 1 < n ? place[q + 1] : b;
    for (let x = place[q]; x < to; x++) if ((x - column[q]) ** 2 + height[q] > limit * limit) into[x - a] = -1;
  }
};

export const deskOf = (stops: Ends, width: number): Desk => ({
  up: new Int32Array(width).fill(-FAR),
  down: stops.first,
  column: new Int32Array(width),
  height: new Int32Array(width),
  row: new Int32Array(width),
  place: new Int32Array(width),
});

/** Brings the columns whose source stopped above row y up to date. */
export const passEnds = ({ up, down }: Desk, stops: Ends, y: number): void => {
  const end = stops.start[y + 1];
  for (let i = stops.start[y]; i < end; i++) {
    const x = stops.at[i];
    up[x] = y - 1;
    down[x] = stops.next[i];
  }
};
