// Where lines come near each other, edge by edge: for whoever asks not how near, but where.
import type { Line } from "./distance.ts";
import { edgeEnds, edgesOf, joinEdges } from "./edges.ts";
import type { Um } from "./length.ts";
import type { Point } from "./point.ts";

/** Two edges that are near each other, with the nearest point on each; not rounded. */
export interface NearEdges {
  /** Edge `i` of the first line runs from its point i to the next. */
  readonly i: number;
  readonly j: number;
  readonly apart: number;
  readonly p: { readonly x: number; readonly y: number };
  readonly q: { readonly x: number; readonly y: number };
}

/**
 * Shows every pair of edges of two lines that are nearer than `within`, crossing ones left out; the same line twice shows each
 * unordered pair once. Boxes reject first, so lines far apart cost a few comparisons. Return true from `see` to stop.
 */
export const nearEdges = (a: Line, b: Line, within: Um, see: (pair: NearEdges) => boolean | undefined): void => {
  const [s, t] = [edgesOf(a.points, a.closed), edgesOf(b.points, b.closed)];
  const reach = within * within;
  joinEdges(
    s,
    t,
    () => reach,
    (i, j) => {
      const near = nearestOf(...edgeEnds(s, i), ...edgeEnds(t, j));
      return near.apart < within ? see({ i, j, ...near }) : undefined;
    },
  );
};

type Foot = Pick<NearEdges, "apart" | "p" | "q">;

const nearestOf = (a: Point, b: Point, c: Point, d: Point): Foot => {
  const feet: readonly Foot[] = [turned(footOn(c, a, b)), turned(footOn(d, a, b)), footOn(a, c, d), footOn(b, c, d)];
  return feet.reduce((best, foot) => (foot.apart < best.apart ? foot : best));
};

const turned = ({ apart, p, q }: Foot): Foot => ({ apart, p: q, q: p });

/** From p to the edge a b. */
const footOn = (p: Point, a: Point, b: Point): Foot => {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2));
  const q = { x: a.x + t * dx, y: a.y + t * dy };
  return { apart: Math.hypot(p.x - q.x, p.y - q.y), p, q };
};
