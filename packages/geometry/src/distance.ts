// How far apart things are. Independent of clipper-lib on purpose: whoever verifies a forme with this gets a second opinion.
import { boxGap, type EdgeTree, edgeEnds, edgesOf, joinEdges } from "./edges.ts";
import type { Um } from "./length.ts";
import { sideOf } from "./orient.ts";
import { insideOutlines, ringsOf } from "./outline.ts";
import { overlaps } from "./overlap.ts";
import type { Contour, Outline, Path, Point } from "./point.ts";

const pointToEdge2 = (p: Point, a: Point, b: Point): number => {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const px = p.x - a.x;
  const py = p.y - a.y;
  const length2 = dx * dx + dy * dy;
  const along = px * dx + py * dy;
  if (along <= 0) return px * px + py * py;
  if (along >= length2) return (p.x - b.x) ** 2 + (p.y - b.y) ** 2;
  return (px * dy - py * dx) ** 2 / length2;
};

const edgeToEdge2 = (a: Point, b: Point, c: Point, d: Point): number => {
  if (sideOf(a, b, c) * sideOf(a, b, d) < 0 && sideOf(c, d, a) * sideOf(c, d, b) < 0) return 0;
  return Math.min(pointToEdge2(a, c, d), pointToEdge2(b, c, d), pointToEdge2(c, a, b), pointToEdge2(d, a, b));
};

/** Least squared distance of two lines, `limit` if that is more; the search ends once it is known to be at most `enough`. */
const treesApart2 = (a: EdgeTree, b: EdgeTree, limit: number, enough: number): number => {
  let best = limit;
  joinEdges(
    a,
    b,
    () => best,
    (i, j) => {
      const [p, q] = edgeEnds(a, i);
      const [r, s] = edgeEnds(b, j);
      const d = edgeToEdge2(p, q, r, s);
      if (d < best) best = d;
      return best <= enough;
    },
  );
  return best;
};

/** From a point to the nearest point of a closed line; not rounded, 0 only on the line. */
export const distanceToContour = (p: Point, contour: Contour): number => {
  let best = Infinity;
  joinEdges(
    edgesOf([p, p], false),
    edgesOf(contour, true),
    () => best,
    (_, j) => {
      const [a, b] = edgeEnds(edgesOf(contour, true), j);
      best = Math.min(best, pointToEdge2(p, a, b));
      return best === 0;
    },
  );
  return Math.sqrt(best);
};

/** A line and whether its end is joined to its beginning. */
export interface Line {
  readonly points: Contour | Path;
  readonly closed: boolean;
}

/** Between the nearest points of two lines (not of what they enclose); not rounded, 0 when they meet. */
export const distanceBetween = (a: Line, b: Line): number =>
  Math.sqrt(treesApart2(edgesOf(a.points, a.closed), edgesOf(b.points, b.closed), Infinity, 0));

/** Squared distance of the lines of two sets of outlines, no farther than `limit` is looked. */
const ringsApart2 = (a: readonly Outline[], b: readonly Outline[], limit: number, enough: number): number => {
  let best = limit;
  for (const p of ringsOf(a))
    for (const q of ringsOf(b)) {
      const [s, t] = [edgesOf(p, true), edgesOf(q, true)];
      if (boxGap(s, 1, t, 1) < best) best = treesApart2(s, t, best, enough);
      if (best <= enough) return best;
    }
  return best;
};

/** Lines that do not meet: then one outline lies in the other or they are apart, and one corner of each outline tells. */
const holdsAny = (a: readonly Outline[], b: readonly Outline[]): boolean =>
  b.some(({ outer }) => insideOutlines(a, outer[0] as Point) > 0);

/** Between the nearest points of two sets of outlines; 0 when they touch, overlap or one holds the other. Not rounded. */
export const outlinesDistance = (a: readonly Outline[], b: readonly Outline[]): number => {
  const apart = Math.sqrt(ringsApart2(a, b, Infinity, 0));
  return apart > 0 && (holdsAny(a, b) || holdsAny(b, a)) ? 0 : apart;
};

/**
 * Are a and b at least `clearance` apart? A gap of exactly `clearance` is clear. With a clearance of 0 they may touch but not
 * overlap. Boxes reject first: pieces far apart cost a few comparisons.
 */
export const clearBy = (a: readonly Outline[], b: readonly Outline[], clearance: Um): boolean => {
  if (clearance <= 0) return !overlaps(a, b);
  const near = clearance * clearance;
  // Squares of whole numbers are exact, but the quotient in a slanted distance is not: forgive its last bits.
  const enough = near * (1 - 1e-12);
  return ringsApart2(a, b, near, enough) > enough && !holdsAny(a, b) && !holdsAny(b, a);
};
