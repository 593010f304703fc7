import { doubled } from "./growing.ts";

/** Where each edge is crossed by others: parameter and point, in lists per edge. */
export const crossings = (e: Float64Array, count: number): { next: Int32Array; head: Int32Array; at: Float64Array } => {
  const head = new Int32Array(count).fill(-1);
  let next = new Int32Array(1024);
  let at = new Float64Array(3072);
  let used = 0;
  const add = (edge: number, t: number, x: number, y: number): void => {
    if (used === next.length) {
      next = doubled(next);
      at = doubled(at);
    }
    at[3 * used] = t;
    at[3 * used + 1] = x;
    at[3 * used + 2] = y;
    next[used] = head[edge];
    head[edge] = used++;
  };
  const least = new Float64Array(count);
  for (let i = 0; i < count; i++) least[i] = Math.min(e[4 * i], e[4 * i + 2]);
  const order = Int32Array.from({ length: count }, (_, i) => i).sort((a, b) => least[a] - least[b]);
  // Boxes in the sequence in which they are met: nearly all pairs end there.
  const minX = new Float64Array(count);
  const maxX = new Float64Array(count);
  const minY = new Float64Array(count);
  const maxY = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const i = order[k];
    const ax = e[4 * i];
    const bx = e[4 * i + 2];
    const ay = e[4 * i + 1];
    const by = e[4 * i + 3];
    minX[k] = ax < bx ? ax : bx;
    maxX[k] = ax < bx ? bx : ax;
    minY[k] = ay < by ? ay : by;
    maxY[k] = ay < by ? by : ay;
  }
  for (let s = 0; s < count; s++) {
    const i = order[s];
    const ax = e[4 * i];
    const ay = e[4 * i + 1];
    const rx = e[4 * i + 2] - ax;
    const ry = e[4 * i + 3] - ay;
    const end = maxX[s];
    const lowY = minY[s];
    const highY = maxY[s];
    for (let k = s + 1; k < count && minX[k] <= end; k++) {
      if (minY[k] > highY || maxY[k] < lowY) continue;
      const j = order[k];
      const cx = e[4 * j];
      const cy = e[4 * j + 1];
      const sx = e[4 * j + 2] - cx;
      const sy = e[4 * j + 3] - cy;
      const qx = cx - ax;
      const qy = cy - ay;
      const d = rx * sy - ry * sx;
      if (d === 0) {
        if (qx * ry - qy * rx !== 0) continue;
        // In line: each is split at the other's ends that lie within.
        const rr = rx * rx + ry * ry;
        const ss = sx * sx + sy * sy;
        const t0 = (qx * rx + qy * ry) / rr;
        const t1 = t0 + (sx * rx + sy * ry) / rr;
        if (t0 > 0 && t0 < 1) add(i, t0, cx, cy);
        if (t1 > 0 && t1 < 1) add(i, t1, cx + sx, cy + sy);
        const u0 = -(qx * sx + qy * sy) / ss;
        const u1 = u0 + (rx * sx + ry * sy) / ss;
        if (u0 > 0 && u0 < 1) add(j, u0, ax, ay);
        if (u1 > 0 && u1 < 1) add(j, u1, ax + rx, ay + ry);
        continue;
      }
      const t = (qx * sy - qy * sx) / d;
      const u = (qx * ry - qy * rx) / d;
      if (t < 0 || t > 1 || u < 0 || u > 1) continue;
      const inT = t > 0 && t < 1;
      const inU = u > 0 && u < 1;
      if (!inT && !inU) continue;
      const x = u === 0 ? cx : u === 1 ? cx + sx : ax + t * rx;
      const y = u === 0 ? cy : u === 1 ? cy + sy : ay + t * ry;
      if (inT) add(i, t, x, y);
      if (inU) add(j, u, t === 0 ? ax : t === 1 ? ax + rx : x, t === 0 ? ay : t === 1 ? ay + ry : y);
    }
  }
  return { next, head, at };
};
