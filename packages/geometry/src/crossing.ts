// Where lines cross, themselves or each other. Exact: two lines that share a corner or lean on each other do not cross,
// two that pass through each other at a corner do, two that share a stretch do.
import { type EdgeTree, edgeEnds, edgesOf, joinEdges } from "./edges.ts";
import { between, meeting, orient, sideOf } from "./orient.ts";
import type { Contour, Path, Point, Space } from "./point.ts";

/** A scribble may cross itself a thousand million times; nobody reads more than this. */
const MOST = 1000;

interface Options {
  /** Stop after so many places (default 1000). */
  readonly most?: number;
}

/** The places where a ring crosses or covers itself, each once, in order of y then x. */
export const selfCrossings = <S extends Space>(contour: Contour<S>, options: Options = {}): Point<S>[] => {
  const tree = edgesOf(contour, true);
  return gather(tree, tree, options.most ?? MOST) as Point<S>[];
};

/** The places where two rings cross or share a stretch, in order of y then x. */
export const crossings = <S extends Space>(a: Contour<S>, b: Contour<S>, options: Options = {}): Point<S>[] =>
  gather(edgesOf(a, true), edgesOf(b, true), options.most ?? MOST) as Point<S>[];

/** The places where an open line crosses a ring or shares a stretch with it, in order of y then x. */
export const pathCrossings = <S extends Space>(path: Path<S>, ring: Contour<S>, options: Options = {}): Point<S>[] =>
  gather(edgesOf(path, false), edgesOf(ring, true), options.most ?? MOST) as Point<S>[];

const gather = (a: EdgeTree, b: EdgeTree, most: number): Point[] => {
  const found = new Map<string, Point>();
  joinEdges(
    a,
    b,
    () => 0,
    (i, j) => {
      const at = crossingOf(a, i, b, j);
      if (at) found.set(`${at.x} ${at.y}`, at);
      return found.size >= most;
    },
  );
  return [...found.values()].sort((p, q) => p.y - q.y || p.x - q.x);
};

const same = (p: Point, q: Point): boolean => p.x === q.x && p.y === q.y;

const crossingOf = (a: EdgeTree, i: number, b: EdgeTree, j: number): Point | undefined => {
  const [p, q] = edgeEnds(a, i);
  const [r, s] = edgeEnds(b, j);
  if (
    Math.max(p.x, q.x) < Math.min(r.x, s.x) ||
    Math.max(r.x, s.x) < Math.min(p.x, q.x) ||
    Math.max(p.y, q.y) < Math.min(r.y, s.y) ||
    Math.max(r.y, s.y) < Math.min(p.y, q.y) ||
    same(p, q) ||
    same(r, s)
  )
    return undefined;
  const pr = sideOf(p, q, r);
  const ps = sideOf(p, q, s);
  const rp = sideOf(r, s, p);
  const rq = sideOf(r, s, q);
  if (pr * ps > 0 || rp * rq > 0) return undefined;
  if (pr * ps < 0 && rp * rq < 0) return meeting(p, q, r, s);
  if (pr === 0 && ps === 0) return sharedStretch(p, q, r, s) ?? throughCorner(a, i, b, j, touch(p, q, r, s));
  const at = pr === 0 ? r : ps === 0 ? s : rp === 0 ? p : q;
  return throughCorner(a, i, b, j, at);
};

/** The beginning of the stretch two edges on one line share; undefined when they share at most one point. */
const sharedStretch = (p: Point, q: Point, r: Point, s: Point): Point | undefined => {
  const ends = [r, s].filter((e) => between(p, q, e)).concat([p, q].filter((e) => between(r, s, e)));
  const [first] = ends;
  return ends.some((e) => first && !same(e, first)) ? ends.sort((m, n) => m.y - n.y || m.x - n.x)[0] : undefined;
};

const touch = (p: Point, q: Point, r: Point, s: Point): Point | undefined =>
  [r, s].find((e) => between(p, q, e)) ?? [p, q].find((e) => between(r, s, e));

/** Where the line comes from and goes to at a point of its edge i; undefined at the end of an open line. */
const passage = (tree: EdgeTree, i: number, at: Point): readonly [Point, Point] | undefined => {
  const { points, closed } = tree;
  const n = points.length;
  const [p, q] = edgeEnds(tree, i);
  if (!same(at, p) && !same(at, q)) return [p, q];
  let back = same(at, p) ? i - 1 : i;
  let on = same(at, p) ? i + 1 : i + 2;
  // Step over points repeated, or the direction is none.
  for (let k = 0; k < n; k++, back--) if (!same(points[((back % n) + n) % n] as Point, at)) break;
  for (let k = 0; k < n; k++, on++) if (!same(points[on % n] as Point, at)) break;
  if (!closed && (back < 0 || on >= n)) return undefined;
  return [points[((back % n) + n) % n] as Point, points[on % n] as Point];
};

/** At a shared point: does one line pass from one side of the other to its other side? */
const throughCorner = (a: EdgeTree, i: number, b: EdgeTree, j: number, at: Point | undefined): Point | undefined => {
  if (!at) return undefined;
  const one = passage(a, i, at);
  const two = passage(b, j, at);
  if (!one || !two) return undefined;
  // Neighbours of one line: one corner seen from both its edges is no meeting of two passages.
  if (a === b && same(one[0], two[0]) && same(one[1], two[1])) return spike(one, at);
  const sides = two.map((p) => within(one[0], one[1], at, p));
  // A passage along an arm of the other shares a stretch, and the pair of edges on one line reports that.
  return !sides.includes(0) && sides[0] !== sides[1] ? at : undefined;
};

/** A line that turns straight back covers itself. */
const spike = ([from, to]: readonly [Point, Point], at: Point): Point | undefined =>
  sideOf(from, at, to) === 0 && (from.x - at.x) * (to.x - at.x) + (from.y - at.y) * (to.y - at.y) > 0 ? at : undefined;

/** 1 when p lies in the wedge from `to` counter-clockwise to `from`, seen from `at`; -1 in the other wedge; 0 on an arm. */
const within = (from: Point, to: Point, at: Point, p: Point): 1 | 0 | -1 => {
  const ahead = (q: Point, r: Point) => (q.x - at.x) * (r.x - at.x) + (q.y - at.y) * (r.y - at.y) > 0;
  const t = orient(at.x, at.y, to.x, to.y, p.x, p.y);
  const f = orient(at.x, at.y, from.x, from.y, p.x, p.y);
  if ((t === 0 && ahead(to, p)) || (f === 0 && ahead(from, p))) return 0;
  const wide = orient(at.x, at.y, to.x, to.y, from.x, from.y);
  // A turn below a half: left of `to` and right of `from`. Above a half: the other way about.
  if (wide > 0) return t > 0 && f < 0 ? 1 : -1;
  if (wide < 0) return t < 0 && f > 0 ? -1 : 1;
  return t > 0 ? 1 : -1;
};
