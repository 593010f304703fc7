import { type Grid, REF_X, REF_Y, toSegment } from "./grid.ts";

/** For each cell the segments within `reach` of its point, in order, with their distances. */
export const around = (
  ends: Float64Array,
  count: number,
  { x0, y0, hx, hy, nx, ny }: Grid,
  reach: number,
): { start: Int32Array; segment: Int32Array; distance: Float64Array } => {
  const start = new Int32Array(nx * ny + 1);
  const hitCell: number[] = [];
  const hitSegment: number[] = [];
  const hitDistance: number[] = [];
  const square = reach * reach;
  const column = (x: number): number => (x - x0) / hx - REF_X;
  const line = (y: number): number => (y - y0) / hy - REF_Y;
  for (let s = 0; s < count; s++) {
    const ax = ends[4 * s];
    const ay = ends[4 * s + 1];
    const bx = ends[4 * s + 2];
    const by = ends[4 * s + 3];
    const i1 = Math.min(nx - 1, Math.floor(column(Math.max(ax, bx) + reach)));
    const j1 = Math.min(ny - 1, Math.floor(line(Math.max(ay, by) + reach)));
    const i0 = Math.max(0, Math.ceil(column(Math.min(ax, bx) - reach)));
    for (let j = Math.max(0, Math.ceil(line(Math.min(ay, by) - reach))); j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        const d = toSegment(ends, s, x0 + (i + REF_X) * hx, y0 + (j + REF_Y) * hy);
        if (d > square) continue;
        const c = j * nx + i;
        start[c + 1] = start[c + 1] + 1;
        hitCell.push(c);
        hitSegment.push(s);
        hitDistance.push(Math.sqrt(d));
      }
  }
  for (let c = 0; c < nx * ny; c++) start[c + 1] = start[c + 1] + start[c];
  const next = start.slice(0, nx * ny);
  const segment = new Int32Array(hitCell.length);
  const distance = new Float64Array(hitCell.length);
  for (let k = 0; k < hitCell.length; k++) {
    const at = next[hitCell[k]];
    next[hitCell[k]] = at + 1;
    segment[at] = hitSegment[k];
    distance[at] = hitDistance[k];
  }
  return { start, segment, distance };
};
