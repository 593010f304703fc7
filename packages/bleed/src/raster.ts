import { RunsWriter, type Runs } from "./runs.ts";

/** A ring in pixels of a canvas: x0, y0, x1, y1, …; (0, 0) is the corner of the first pixel, its centre (0.5, 0.5). */
export type PixelRing = Float64Array;

/** The first row whose centre lies at or below a height, within the canvas. An edge crosses the rows from that of its upper
 * end to that of its lower end, the latter not included. */
const rowAt = (y: number, rows: number): number => {
  const row = Math.ceil(y - 0.5);
  return row < 0 ? 0 : row > rows ? rows : row;
};

/** How many crossings every row has, as places of the first of each row. */
const countCrossings = (rings: readonly PixelRing[], rows: number): Int32Array => {
  const start = new Int32Array(rows + 2);
  for (const ring of rings) {
    let above = rowAt(ring[ring.length - 1], rows);
    for (let i = 1; i < ring.length; i += 2) {
      const row = rowAt(ring[i], rows);
      for (let y = above; y < row; y++) start[y + 2]++;
      for (let y = row; y < above; y++) start[y + 2]++;
      above = row;
    }
  }
  for (let y = 1; y < rows + 2; y++) start[y] = start[y] + start[y - 1];
  return start;
};

/** The crossings of every row, unsorted; leaves start[y] at the first of row y. */
const placeCrossings = (rings: readonly PixelRing[], rows: number, start: Int32Array): Float64Array => {
  const xs = new Float64Array(start[rows + 1]);
  for (const ring of rings) {
    let x0 = ring[ring.length - 2];
    let y0 = ring[ring.length - 1];
    let above = rowAt(y0, rows);
    for (let i = 0; i < ring.length; i += 2) {
      const x1 = ring[i];
      const y1 = ring[i + 1];
      const row = rowAt(y1, rows);
      if (row !== above) {
        const slope = (x1 - x0) / (y1 - y0);
        const to = above < row ? row : above;
        for (let y = above < row ? above : row; y < to; y++) {
          const at = start[y + 1];
          start[y + 1] = at + 1;
          xs[at] = x0 + (y + 0.5 - y0) * slope;
        }
      }
      above = row;
      x0 = x1;
      y0 = y1;
    }
  }
  return xs;
};

/** Rows hold a handful of crossings, nearly in order: insertion beats any general sort. In steps where a row is long
 * (Shell): a comb of thousands of teeth crosses a row as often. */
const sortRow = (xs: Float64Array, first: number, end: number): void => {
  let gap = 1;
  while (end - first > 24 * gap) gap = 3 * gap + 1;
  for (; gap > 0; gap = Math.floor(gap / 3))
    for (let i = first + gap; i < end; i++) {
      const x = xs[i];
      let at = i;
      while (at >= first + gap && xs[at - gap] > x) {
        xs[at] = xs[at - gap];
        at -= gap;
      }
      xs[at] = x;
    }
};

/** Pixels whose centre is inside, even-odd over all rings, on a canvas of `width` x `rows`. */
export const rasterise = (rings: readonly PixelRing[], width: number, rows: number): Runs => {
  // While crossings are placed, start[y + 1] is the next free place of row y; afterwards it is the first place of row y + 1.
  const start = countCrossings(rings, rows);
  const xs = placeCrossings(rings, rows, start);
  const out = new RunsWriter(rows);
  for (let y = 0; y < rows; y++) {
    sortRow(xs, start[y], start[y + 1]);
    for (let i = start[y]; i + 1 < start[y + 1]; i += 2) {
      const from = Math.max(0, Math.ceil(xs[i] - 0.5));
      const to = Math.min(width, Math.ceil(xs[i + 1] - 0.5));
      out.add(from, to);
    }
    out.endRow();
  }
  return out.done();
};

/** Pixels that an edge passes through, whatever their centre: all of them, also those of spikes thinner than a pixel. */
export const crossed = (rings: readonly PixelRing[], width: number, rows: number): Runs => {
  const cells: number[][] = [];
  for (const ring of rings) {
    let x0 = ring[ring.length - 2];
    let y0 = ring[ring.length - 1];
    for (let i = 0; i < ring.length; i += 2) {
      const x1 = ring[i];
      const y1 = ring[i + 1];
      const high = Math.min(y0, y1);
      const low = Math.max(y0, y1);
      const from = Math.max(0, Math.floor(high));
      const to = Math.min(rows - 1, Math.floor(low));
      const slope = y1 === y0 ? 0 : (x1 - x0) / (y1 - y0);
      for (let y = from; y <= to; y++) {
        const a = y1 === y0 ? x0 : x0 + (Math.max(y, high) - y0) * slope;
        const b = y1 === y0 ? x1 : x0 + (Math.min(y + 1, low) - y0) * slope;
        const left = Math.max(0, Math.floor(Math.min(a, b)));
        const right = Math.min(width, Math.floor(Math.max(a, b)) + 1);
        if (left < right) (cells[y] ??= []).push(left, right);
      }
      x0 = x1;
      y0 = y1;
    }
  }
  const out = new RunsWriter(rows);
  for (let y = 0; y < rows; y++) {
    const row = cells[y] ?? [];
    const order = Array.from({ length: row.length / 2 }, (_, i) => 2 * i).sort((i, j) => row[i] - row[j]);
    let from = 0;
    let to = -1;
    for (const i of order) {
      if (row[i] > to) {
        out.add(from, to);
        from = row[i];
        to = row[i + 1];
      } else to = Math.max(to, row[i + 1]);
    }
    out.add(from, to);
    out.endRow();
  }
  return out.done();
};
