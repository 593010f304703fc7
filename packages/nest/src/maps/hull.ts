import { areaOf } from "../shapes/ring.ts";

/** Area of the convex hull of points. */
export const hullArea = (points: readonly (readonly [number, number])[]): number => {
  const sorted = points.slice().sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly (readonly [number, number])[]): (readonly [number, number])[] => {
    const out: (readonly [number, number])[] = [];
    for (const p of list) {
      while (out.length > 1) {
        const a = out[out.length - 2] as readonly [number, number];
        const b = out[out.length - 1] as readonly [number, number];
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    out.pop();
    return out;
  };
  return Math.abs(areaOf([...half(sorted), ...half(sorted.slice().reverse())].flat()));
};
