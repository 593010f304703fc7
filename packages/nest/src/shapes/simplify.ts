import { areaOf } from "./ring.ts";

/** How much a ring may grow to lose points: each step within `distance` (micrometres), in all within `fraction` (0..1) of its area. */
export interface Growth {
  readonly distance: number;
  readonly fraction: number;
  /** No need to go below so many points. */
  readonly points: number;
}

/**
 * A ring of fewer points that contains the given one: reflex points are bridged by their chord, convex edges replaced by
 * their neighbours' meeting point, cheapest first. The part lies to the left of travel, so openings shrink. Only ever
 * outward: what is clear for the result is clear for the original.
 */
export const simplify = (ring: readonly number[], { distance, fraction, points }: Growth): number[] => {
  const n0 = ring.length / 2;
  if (n0 <= points) return ring.slice();
  const x = ring.filter((_, i) => i % 2 === 0);
  const y = ring.filter((_, i) => i % 2 === 1);
  const alive: number[] = x.map((_, i) => i);
  let budget = Math.abs(areaOf(ring)) * fraction;
  type Step = { cost: number; drop: number; corner?: [number, number]; keep: number };
  const at = (k: number): number => alive[((k % alive.length) + alive.length) % alive.length];
  /** Whether no other point lies in the triangle; up to three points are its own. */
  const emptyOf = (
    ax: number,
    ay: number,
    bx: number,
    by: number,
    cx: number,
    cy: number,
    own1: number,
    own2: number,
    own3: number,
  ): boolean => {
    const minX = Math.min(ax, bx, cx);
    const maxX = Math.max(ax, bx, cx);
    const minY = Math.min(ay, by, cy);
    const maxY = Math.max(ay, by, cy);
    for (const i of alive) {
      const px = x[i];
      const py = y[i];
      if (px < minX || px > maxX || py < minY || py > maxY || i === own1 || i === own2 || i === own3) continue;
      const s1 = (bx - ax) * (py - ay) - (by - ay) * (px - ax);
      const s2 = (cx - bx) * (py - by) - (cy - by) * (px - bx);
      const s3 = (ax - cx) * (py - cy) - (ay - cy) * (px - cx);
      if ((s1 >= 0 && s2 >= 0 && s3 >= 0) || (s1 <= 0 && s2 <= 0 && s3 <= 0)) return false;
    }
    return true;
  };
  const stepAt = (k: number): Step | undefined => {
    const [a, b, c, d] = [at(k - 1), at(k), at(k + 1), at(k + 2)];
    const ax = x[a];
    const ay = y[a];
    const bx = x[b];
    const by = y[b];
    const cx = x[c];
    const cy = y[c];
    const turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx);
    if (turn <= 0) {
      const cost = -turn / 2;
      const chord = Math.hypot(cx - ax, cy - ay);
      if (cost > budget || chord === 0 || (2 * cost) / chord > distance) return undefined;
      if (!emptyOf(ax, ay, bx, by, cx, cy, a, b, c)) return undefined;
      return { cost, drop: b, keep: -1 };
    }
    // Edge b-c between two convex corners: lengthen a-b and d-c until they meet.
    const dx = x[d];
    const dy = y[d];
    if ((cx - bx) * (dy - cy) - (cy - by) * (dx - cx) <= 0) return undefined;
    const ux = bx - ax;
    const uy = by - ay;
    const vx = cx - dx;
    const vy = cy - dy;
    const den = ux * vy - uy * vx;
    if (Math.abs(den) < 1e-9) return undefined;
    const t = ((cx - bx) * vy - (cy - by) * vx) / den;
    const s = ((cx - bx) * uy - (cy - by) * ux) / den;
    if (t < 0 || s < 0) return undefined;
    const edge = Math.hypot(cx - bx, cy - by);
    const px = bx + t * ux;
    const py = by + t * uy;
    const cost = Math.abs((cx - bx) * (py - by) - (cy - by) * (px - bx)) / 2;
    if (cost > budget || edge === 0 || (2 * cost) / edge > distance) return undefined;
    if (!emptyOf(bx, by, px, py, cx, cy, b, c, c)) return undefined;
    return { cost, drop: c, keep: b, corner: [px, py] };
  };
  // Rescanning all points for each step is quadratic, and enough: a contour is flattened to a few hundred points.
  const steps: (Step | undefined)[] = [];
  const costs = new Float64Array(n0).fill(Infinity);
  const look = (k: number): void => {
    const step = stepAt(k);
    const i = at(k);
    steps[i] = step;
    costs[i] = step?.cost ?? Infinity;
  };
  for (let k = 0; k < alive.length; k++) look(k);
  while (alive.length > points && alive.length > 3) {
    let least = Infinity;
    let owner = 0;
    for (let i = 0; i < n0; i++) {
      const cost = costs[i];
      if (cost < least) {
        least = cost;
        owner = i;
      }
    }
    if (least > budget) break;
    const best = steps[owner] as Step;
    // Earlier steps may have moved a point into this one's way: look again before taking it.
    look(alive.indexOf(owner));
    if (costs[owner] !== least) continue;
    const k = alive.indexOf(best.drop);
    budget -= best.cost;
    if (best.corner) {
      x[best.keep] = best.corner[0];
      y[best.keep] = best.corner[1];
    }
    alive.splice(k, 1);
    costs[best.drop] = Infinity;
    for (let q = k - 3; q <= k + 2; q++) look(q);
  }
  return alive.flatMap((i) => [x[i], y[i]]);
};

/** Whole coordinates again after corners were moved: outward within a micrometre, counted in the caller's slack. */
export const rounded = (ring: readonly number[]): number[] => ring.map((v) => Math.round(v));
