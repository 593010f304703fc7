import type { Growing } from "./growing.ts";

/** Convolves the edges of `p` with the vertices of `q`; `first` breaks the tie of parallel edges the same way every time. */
export const convolve = (p: Float64Array, q: Float64Array, first: boolean, out: Growing, plus: number[]): void => {
  const n = p.length;
  const m = q.length;
  for (let j = 0; j < m; j += 2) {
    const h = j === 0 ? m - 2 : j - 2;
    const k = j + 2 === m ? 0 : j + 2;
    const qx = q[j];
    const qy = q[j + 1];
    const inX = qx - q[h];
    const inY = qy - q[h + 1];
    const outX = q[k] - qx;
    const outY = q[k + 1] - qy;
    const left = inX * outY - inY * outX > 0;
    // The turn sweeps counter-clockwise from lo to hi.
    const loX = left ? inX : outX;
    const loY = left ? inY : outY;
    const hiX = left ? outX : inX;
    const hiY = left ? outY : inY;
    for (let i = 0; i < n; i += 2) {
      const e = i + 2 === n ? 0 : i + 2;
      const ax = p[i];
      const ay = p[i + 1];
      const dx = p[e] - ax;
      const dy = p[e + 1] - ay;
      const lo = loX * dy - loY * dx;
      const hi = dx * hiY - dy * hiX;
      if (lo < 0 || hi < 0) continue;
      if (lo === 0 && !(first && loX * dx + loY * dy > 0)) continue;
      if (hi === 0 && !(!first && hiX * dx + hiY * dy > 0)) continue;
      const bx = ax + dx + qx;
      const by = ay + dy + qy;
      if (left) out.push4(ax + qx, ay + qy, bx, by);
      else out.push4(bx, by, ax + qx, ay + qy);
      plus.push(left ? 1 : 0);
    }
  }
};
