// Do two sets of outlines share paper, and not merely an edge? Exact, for pieces laid edge to edge.
import { edgeEnds, edgesOf, joinEdges } from "./edges.ts";
import { between, sideOf } from "./orient.ts";
import { insideOutlines, ringsOf } from "./outline.ts";
import type { Contour, Outline, Point } from "./point.ts";

/**
 * Shapes that only touch do not overlap. When no edge of one passes the inside of the other, a part of a and a part of b can
 * only coincide wholly or not at all, so after the edges one point inside each outline decides.
 */
export const overlaps = (a: readonly Outline[], b: readonly Outline[]): boolean =>
  enters(a, b) || enters(b, a) || a.some((outline) => insideOutlines(b, pointInside(outline)) > 0);

/** Does an edge of `a` pass the inside of `b`? Between two meetings with the lines of b an edge is all inside or all outside. */
const enters = (a: readonly Outline[], b: readonly Outline[]): boolean => {
  for (const ring of ringsOf(a)) {
    const { crosses, cuts } = meetings(ring, ringsOf(b));
    if (crosses) return true;
    for (let i = 0; i < ring.length; i++) {
      const [p, q] = edgeEnds(edgesOf(ring, true), i);
      const along = (r: Point) => Math.abs(r.x - p.x) + Math.abs(r.y - p.y);
      const stops = [p, ...(cuts.get(i) ?? []).sort((r, s) => along(r) - along(s)), q];
      for (let k = 1; k < stops.length; k++) {
        const [r, s] = [stops[k - 1] as Point, stops[k] as Point];
        if (insideOutlines(b, { x: (r.x + s.x) / 2, y: (r.y + s.y) / 2 }) > 0) return true;
      }
    }
  }
  return false;
};

/** Where corners of other rings lie on the edges of this one, and whether any two edges pass through each other. */
const meetings = (ring: Contour, others: readonly Contour[]) => {
  const cuts = new Map<number, Point[]>();
  let crosses = false;
  const tree = edgesOf(ring, true);
  for (const other of others) {
    joinEdges(
      tree,
      edgesOf(other, true),
      () => 0,
      (i, j) => {
        const [p, q] = edgeEnds(tree, i);
        const [r, s] = edgeEnds(edgesOf(other, true), j);
        const [pr, ps] = [sideOf(p, q, r), sideOf(p, q, s)];
        crosses ||= pr * ps < 0 && sideOf(r, s, p) * sideOf(r, s, q) < 0;
        // Each corner is the beginning of one edge, so looking at r alone misses none.
        if (pr === 0 && between(p, q, r)) cuts.set(i, [...(cuts.get(i) ?? []), r]);
        return crosses;
      },
    );
    if (crosses) break;
  }
  return { crosses, cuts };
};

/** Some point inside: on the level line in the middle of the widest band without corners, in its widest stretch. */
const pointInside = (outline: Outline): Point => {
  const rings = ringsOf([outline]);
  const levels = [...new Set(rings.flat().map((p) => p.y))].sort((a, b) => a - b);
  let y = levels[0] ?? 0;
  let widest = 0;
  for (let i = 1; i < levels.length; i++) {
    const [low, high] = [levels[i - 1] as number, levels[i] as number];
    if (high - low > widest) [widest, y] = [high - low, (low + high) / 2];
  }
  const xs = rings
    .flatMap((ring) =>
      ring.flatMap((p, i) => {
        const q = ring[(i + 1) % ring.length] as Point;
        return p.y > y !== q.y > y ? [p.x + ((q.x - p.x) * (y - p.y)) / (q.y - p.y)] : [];
      }),
    )
    .sort((a, b) => a - b);
  let x = xs[0] ?? 0;
  widest = 0;
  for (let i = 1; i < xs.length; i += 2) {
    const [left, right] = [xs[i - 1] as number, xs[i] as number];
    if (right - left > widest) [widest, x] = [right - left, (left + right) / 2];
  }
  return { x, y };
};
