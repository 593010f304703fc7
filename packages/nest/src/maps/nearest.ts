import { toSegment } from "./grid.ts";

/** For each corner of the grid, the nearest segment as found by handing neighbours' nearest on, forth and back. */
export const nearest = (
  ends: Float64Array,
  count: number,
  x0: number,
  y0: number,
  hx: number,
  hy: number,
  nx: number,
  ny: number,
): { near: Int32Array; square: Float64Array } => {
  const wide = nx + 1;
  const near = new Int32Array(wide * (ny + 1)).fill(-1);
  const square = new Float64Array(wide * (ny + 1)).fill(Infinity);
  const offer = (i: number, j: number, s: number): void => {
    const k = j * wide + i;
    if (near[k] === s) return;
    const d = toSegment(ends, s, x0 + i * hx, y0 + j * hy);
    if (d < square[k]) {
      square[k] = d;
      near[k] = s;
    }
  };
  for (let s = 0; s < count; s++) {
    const ax = (ends[4 * s] - x0) / hx;
    const ay = (ends[4 * s + 1] - y0) / hy;
    const bx = (ends[4 * s + 2] - x0) / hx;
    const by = (ends[4 * s + 3] - y0) / hy;
    const steps = Math.max(1, Math.ceil(Math.max(Math.abs(bx - ax), Math.abs(by - ay)) * 2));
    for (let k = 0; k <= steps; k++) {
      const i = Math.min(nx - 1, Math.max(0, Math.floor(ax + ((bx - ax) * k) / steps)));
      const j = Math.min(ny - 1, Math.max(0, Math.floor(ay + ((by - ay) * k) / steps)));
      offer(i, j, s);
      offer(i + 1, j, s);
      offer(i, j + 1, s);
      offer(i + 1, j + 1, s);
    }
  }
  const from = (i: number, j: number, p: number, q: number): void => {
    if (p < 0 || q < 0 || p > nx || q > ny) return;
    const s = near[q * wide + p];
    if (s >= 0) offer(i, j, s);
  };
  for (let j = 0; j <= ny; j++) {
    for (let i = 0; i <= nx; i++) {
      from(i, j, i - 1, j);
      from(i, j, i - 1, j - 1);
      from(i, j, i, j - 1);
      from(i, j, i + 1, j - 1);
    }
    for (let i = nx; i >= 0; i--) from(i, j, i + 1, j);
  }
  for (let j = ny; j >= 0; j--) {
    for (let i = nx; i >= 0; i--) {
      from(i, j, i + 1, j);
      from(i, j, i + 1, j + 1);
      from(i, j, i, j + 1);
      from(i, j, i - 1, j + 1);
    }
    for (let i = 0; i <= nx; i++) from(i, j, i - 1, j);
  }
  return { near, square };
};
