// oxlint-disable-next-line typescript/triple-slash-reference -- an import would end up in dist, where this file is not
/// <reference path="./clipper-lib.d.ts" />
// The only file that knows clipper-lib. Its traps stop here: it calls `alert` on errors, it swallows NaN and gives a shape
// all the same, and past its fast range it falls into slow 128-bit arithmetic. So every number is asked before it goes in.
import { createRequire } from "node:module";
import type Library from "clipper-lib";
import type { Um } from "./length.ts";
import type { Contour, Outline, Point, Space } from "./point.ts";

// By `require`, which takes a seventh of the processor: `import` reads its 7,000 lines twice, first for their exports.
const ClipperLib = createRequire(import.meta.url)("clipper-lib") as typeof Library;
const { Clipper, ClipperOffset, PolyTree, ClipType, PolyType, PolyFillType, JoinType, EndType } = ClipperLib;

/** clipper-lib's fast integer range: 47 m at one unit per micrometre. */
const FARTHEST: Um = 47_453_132;

interface IntPoint {
  X: number;
  Y: number;
}

interface Node {
  Contour(): IntPoint[];
  Childs(): Node[];
}

/** Throws RangeError for a coordinate that is not a number or beyond 47 m. */
export const askPoints = (points: readonly Point[]): void => {
  for (const { x, y } of points)
    if (!(Math.abs(x) <= FARTHEST && Math.abs(y) <= FARTHEST))
      throw new RangeError(`point ${x}, ${y}: coordinates must be numbers within ${FARTHEST} micrometres`);
};

const toRing = (points: readonly Point[]): IntPoint[] => {
  askPoints(points);
  return points.map(({ x, y }) => ({ X: Math.round(x), Y: Math.round(y) }));
};

// `+ 0` turns clipper's -0 into 0, which JSON and Object.is tell apart.
const fromRing = <S extends Space>(ring: readonly IntPoint[]): Point<S>[] =>
  ring.map(({ X, Y }) => ({ x: X + 0, y: Y + 0 }));

/** Even levels of the tree are outer contours, odd ones openings; an island in an opening is an outline of its own. */
const outlinesIn = <S extends Space>(nodes: readonly Node[]): Outline<S>[] =>
  nodes.flatMap((node) => [
    {
      outer: fromRing<S>(node.Contour()),
      openings: node.Childs().map((opening) => fromRing<S>(opening.Contour())),
    },
    ...node.Childs().flatMap((opening) => outlinesIn<S>(opening.Childs())),
  ]);

const OPERATIONS = {
  union: ClipType.ctUnion,
  intersect: ClipType.ctIntersection,
  subtract: ClipType.ctDifference,
  xor: ClipType.ctXor,
} as const;
export type Operation = keyof typeof OPERATIONS;

const FILLS = { evenOdd: PolyFillType.pftEvenOdd, positive: PolyFillType.pftPositive } as const;

/** Rings of a and b combined. `positive` believes the winding (and drops lobes wound backwards), `evenOdd` does not. */
export const combineRings = <S extends Space>(
  operation: Operation,
  a: readonly Contour<S>[],
  b: readonly Contour<S>[],
  fill: keyof typeof FILLS = "positive",
): Outline<S>[] => {
  const clipper = new Clipper();
  const some = clipper.AddPaths(a.map(toRing), PolyType.ptSubject, true);
  // With nothing added Execute answers false, which otherwise means failure.
  if (!clipper.AddPaths(b.map(toRing), PolyType.ptClip, true) && !some) return [];
  const tree = new PolyTree();
  if (!clipper.Execute(OPERATIONS[operation], tree, FILLS[fill], FILLS[fill]))
    throw new Error(`clipper-lib could not ${operation} ${a.length} and ${b.length} rings`);
  return outlinesIn<S>(tree.Childs());
};

/** Rings moved out by `by` (in when negative), corners round, arcs within `sagitta` of the true circle. */
export const offsetRings = <S extends Space>(rings: readonly Contour<S>[], by: Um, sagitta: Um): Outline<S>[] => {
  if (!Number.isFinite(by)) throw new RangeError(`offset by ${by}`);
  const offset = new ClipperOffset(2, sagitta);
  offset.AddPaths(rings.map(toRing), JoinType.jtRound, EndType.etClosedPolygon);
  const tree = new PolyTree();
  offset.Execute(tree, by);
  return outlinesIn<S>(tree.Childs());
};
