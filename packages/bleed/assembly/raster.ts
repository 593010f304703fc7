// ../src/raster.ts and the difference of ../src/runs.ts once more: the same sums in the same order, and the same
// runs to the last one (tests hold the two together; the plain ones are the reference).
import { FAR, get, getFloat, put, putFloat } from "./memory";

function rowAt(y: f64, rows: i32): i32 {
  const row = Math.ceil(y - 0.5);
  return row < 0 ? 0 : row > <f64>rows ? rows : <i32>row;
}

/** Every point's row into `rowOf`; answers how many crossings all rows have. `ringEnds` holds for each ring the number of the
 * point after its last. */
export function countCrossings(points: i32, ringEnds: i32, rings: i32, rows: i32, rowOf: i32): i32 {
  let i = 0;
  let sum = 0;
  for (let ring = 0; ring < rings; ring++) {
    const end = get(ringEnds, ring);
    if (end == i) continue;
    let above = rowAt(getFloat(points, 2 * end - 1), rows);
    for (; i < end; i++) {
      const row = rowAt(getFloat(points, 2 * i + 1), rows);
      put(rowOf, i, row);
      sum += abs(row - above);
      above = row;
    }
  }
  return sum;
}

/** Bytes of one crossing: where, and the address of another in the same row. */
const CROSSING: i32 = 16;
/** Bytes of its two numbers from its beginning: where it is, and the address of the next in its row. */
const X: usize = 0;
const NEXT: usize = 8;

/** Puts the crossings one after the other into `crossings`; `first` leads to a chain for every row, 0 for none. */
function placeCrossings(
  points: i32,
  ringEnds: i32,
  rings: i32,
  rows: i32,
  rowOf: i32,
  first: i32,
  crossings: i32,
): void {
  memory.fill(<usize>first, 0, <usize>(rows << 2));
  let i = 0;
  for (let ring = 0; ring < rings; ring++) {
    const end = get(ringEnds, ring);
    if (end == i) continue;
    let x0 = getFloat(points, 2 * end - 2);
    let y0 = getFloat(points, 2 * end - 1);
    let above = get(rowOf, end - 1);
    for (; i < end; i++) {
      const x1 = getFloat(points, 2 * i);
      const y1 = getFloat(points, 2 * i + 1);
      const row = get(rowOf, i);
      if (row != above) {
        const slope = (x1 - x0) / (y1 - y0);
        const to = max(above, row);
        for (let y = min(above, row); y < to; y++) {
          store<f64>(<usize>crossings, x0 + (<f64>y + 0.5 - y0) * slope, X);
          store<i32>(<usize>crossings, get(first, y), NEXT);
          put(first, y, crossings);
          crossings += CROSSING;
        }
      }
      above = row;
      x0 = x1;
      y0 = y1;
    }
  }
}

/** Insertion, in steps where a row is long (Shell): a comb of thousands of teeth crosses a row as often. */
function sort(xs: i32, n: i32): void {
  let gap = 1;
  while (n > 24 * gap) gap = 3 * gap + 1;
  for (; gap > 0; gap = gap / 3) {
    for (let i = gap; i < n; i++) {
      const x = getFloat(xs, i);
      let at = i;
      while (at >= gap && getFloat(xs, at - gap) > x) {
        putFloat(xs, at, getFloat(xs, at - gap));
        at -= gap;
      }
      putFloat(xs, at, x);
    }
  }
}

function columnAt(x: f64, width: i32): i32 {
  const column = Math.ceil(x - 0.5);
  return column < 0 ? 0 : column > <f64>width ? width : <i32>column;
}

/** The pixels inside as runs, after `countCrossings`; answers how many ends they have, at most as many as crossings. `xs` has
 * room for all crossings. */
export function inside(
  points: i32,
  ringEnds: i32,
  rings: i32,
  rows: i32,
  width: i32,
  rowOf: i32,
  first: i32,
  crossings: i32,
  xs: i32,
  outStart: i32,
  outEnds: i32,
): i32 {
  placeCrossings(points, ringEnds, rings, rows, rowOf, first, crossings);
  let n = 0;
  for (let y = 0; y < rows; y++) {
    put(outStart, y, n);
    const rowStart = n;
    let many = 0;
    for (let at = get(first, y); at != 0; at = load<i32>(<usize>at, NEXT))
      putFloat(xs, many++, load<f64>(<usize>at, X));
    sort(xs, many);
    for (let i = 0; i + 1 < many; i += 2) {
      const from = columnAt(getFloat(xs, i), width);
      const to = columnAt(getFloat(xs, i + 1), width);
      if (to <= from) continue;
      if (n > rowStart && get(outEnds, n - 1) == from) put(outEnds, n - 1, to);
      else {
        put(outEnds, n, from);
        put(outEnds, n + 1, to);
        n += 2;
      }
    }
  }
  put(outStart, rows, n);
  return n;
}

/** The runs of a without those of b; answers how many ends they have, at most as many as a and b together. */
export function minus(rows: i32, aStart: i32, aEnds: i32, bStart: i32, bEnds: i32, outStart: i32, outEnds: i32): i32 {
  let n = 0;
  for (let y = 0; y < rows; y++) {
    put(outStart, y, n);
    let i = get(aStart, y);
    let j = get(bStart, y);
    const iEnd = get(aStart, y + 1);
    const jEnd = get(bStart, y + 1);
    let state = 0;
    let within = false;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? get(aEnds, i) : FAR;
      const xb = j < jEnd ? get(bEnds, j) : FAR;
      const x = min(xa, xb);
      if (xa == x) {
        i++;
        state ^= 1;
      }
      if (xb == x) {
        j++;
        state ^= 2;
      }
      // Ends of a set never touch, so neither do those of the difference.
      if ((state == 1) != within) {
        put(outEnds, n++, x);
        within = !within;
      }
    }
  }
  put(outStart, rows, n);
  return n;
}
