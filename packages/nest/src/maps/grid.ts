/** Square of the distance of (x, y) from segment `s`. */
export const toSegment = (ends: Float64Array, s: number, x: number, y: number): number => {
  const k = 4 * s;
  const ax = ends[k];
  const ay = ends[k + 1];
  const dx = ends[k + 2] - ax;
  const dy = ends[k + 3] - ay;
  const px = x - ax;
  const py = y - ay;
  let t = (px * dx + py * dy) / (dx * dx + dy * dy);
  t = t < 0 ? 0 : t > 1 ? 1 : t;
  const ex = px - t * dx;
  const ey = py - t * dy;
  return ex * ex + ey * ey;
};

/**
 * Point of a cell, in parts of it, for which inside or outside is kept. Off the middle: lines of symmetric shapes run
 * exactly through middles, and on a line there is no inside.
 */
export const REF_X = 0.5137;
export const REF_Y = 0.4871;

/** Cells over a region: the first corner, the size of a cell, how many of them. */
export interface Grid {
  readonly x0: number;
  readonly y0: number;
  readonly hx: number;
  readonly hy: number;
  readonly nx: number;
  readonly ny: number;
}
