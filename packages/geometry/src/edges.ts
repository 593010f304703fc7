// The edges of a line, boxed in runs. Neighbouring edges of a contour are neighbours on the paper too, so a plain binary
// tree over runs of consecutive edges rejects nearly as well as a sorted one and is built in one pass. A uniform grid was
// the other candidate: it fails on long thin parts beside short edges, where its cells suit neither.
import type { Point } from "./point.ts";

/** Edges in one leaf. 4, 8 and 16 were tried on 100,000 vertices: 8 was best by a little. */
export const RUN = 8;

export interface EdgeTree {
  readonly points: readonly Point[];
  /** Edge i runs from points[i] to points[(i + 1) % length]; the last edge of an open line is missing. */
  readonly count: number;
  readonly closed: boolean;
  /** Leaves are nodes leaves .. 2 leaves - 1; node 1 is the root, children of i are 2i and 2i + 1. */
  readonly leaves: number;
  /** minX, minY, maxX, maxY of every node; empty nodes hold +-Infinity. */
  readonly boxes: Float64Array;
}

const kept = { open: new WeakMap<readonly Point[], EdgeTree>(), closed: new WeakMap<readonly Point[], EdgeTree>() };

/** The tree of a line; built once for each array, which therefore must not be changed afterwards (contours never are). */
export const edgesOf = (points: readonly Point[], closed: boolean): EdgeTree => {
  const cache = closed ? kept.closed : kept.open;
  let tree = cache.get(points);
  if (!tree) cache.set(points, (tree = plant(points, closed)));
  return tree;
};

const plant = (points: readonly Point[], closed: boolean): EdgeTree => {
  const count = closed ? points.length : Math.max(0, points.length - 1);
  let leaves = 1;
  while (leaves * RUN < count) leaves *= 2;
  const boxes = new Float64Array(8 * leaves);
  for (let node = 0; node < 2 * leaves; node++) {
    boxes[4 * node] = boxes[4 * node + 1] = Infinity;
    boxes[4 * node + 2] = boxes[4 * node + 3] = -Infinity;
  }
  const widen = (node: number, minX: number, minY: number, maxX: number, maxY: number) => {
    const k = 4 * node;
    if (minX < (boxes[k] as number)) boxes[k] = minX;
    if (minY < (boxes[k + 1] as number)) boxes[k + 1] = minY;
    if (maxX > (boxes[k + 2] as number)) boxes[k + 2] = maxX;
    if (maxY > (boxes[k + 3] as number)) boxes[k + 3] = maxY;
  };
  for (let i = 0; i < count; i++) {
    const a = points[i] as Point;
    const b = points[i + 1 === points.length ? 0 : i + 1] as Point;
    const node = leaves + Math.floor(i / RUN);
    widen(node, Math.min(a.x, b.x), Math.min(a.y, b.y), Math.max(a.x, b.x), Math.max(a.y, b.y));
  }
  for (let node = 2 * leaves - 1; node > 1; node--) {
    const k = 4 * node;
    widen(node >> 1, ...([boxes[k], boxes[k + 1], boxes[k + 2], boxes[k + 3]] as [number, number, number, number]));
  }
  return { points, count, closed, leaves, boxes };
};

/** Squared distance of two nodes' boxes; 0 when they touch, Infinity when one is empty. */
export const boxGap = (a: EdgeTree, i: number, b: EdgeTree, j: number): number => {
  const p = a.boxes;
  const q = b.boxes;
  const k = 4 * i;
  const l = 4 * j;
  const dx = Math.max(0, (p[k] as number) - (q[l + 2] as number), (q[l] as number) - (p[k + 2] as number));
  const dy = Math.max(0, (p[k + 1] as number) - (q[l + 3] as number), (q[l + 1] as number) - (p[k + 3] as number));
  return dx * dx + dy * dy;
};

/**
 * Every pair of edges whose runs are within `reach()` (squared; asked again as it goes, so it may shrink) is shown to `see`
 * once; return true from `see` to stop. With a === b every unordered pair is shown once and an edge never meets itself.
 */
export const joinEdges = (
  a: EdgeTree,
  b: EdgeTree,
  reach: () => number,
  see: (i: number, j: number) => boolean | undefined,
): void => {
  const self = a === b;
  const stack: number[] = [1, 1];
  while (stack.length > 0) {
    const j = stack.pop() as number;
    const i = stack.pop() as number;
    if (boxGap(a, i, b, j) > reach()) continue;
    const leafA = i >= a.leaves;
    const leafB = j >= b.leaves;
    if (leafA && leafB) {
      const i0 = (i - a.leaves) * RUN;
      const j0 = (j - b.leaves) * RUN;
      const i1 = Math.min(i0 + RUN, a.count);
      const j1 = Math.min(j0 + RUN, b.count);
      for (let m = i0; m < i1; m++)
        for (let n = self && i === j ? m + 1 : j0; n < j1; n++) if (see(m, n) === true) return;
    } else if (self && i === j) {
      stack.push(2 * i + 1, 2 * i + 1, 2 * i, 2 * i + 1, 2 * i, 2 * i);
    } else if (self) {
      // Both nodes are on one level here, as all leaves are.
      stack.push(2 * i, 2 * j, 2 * i, 2 * j + 1, 2 * i + 1, 2 * j, 2 * i + 1, 2 * j + 1);
    } else {
      // The nearer half is looked at first (pushed last): it shortens the reach for the other.
      const splitA = leafB || (!leafA && i <= j);
      const [i0, j0, i1, j1] = splitA ? [2 * i, j, 2 * i + 1, j] : [i, 2 * j, i, 2 * j + 1];
      if (boxGap(a, i0, b, j0) < boxGap(a, i1, b, j1)) stack.push(i1, j1, i0, j0);
      else stack.push(i0, j0, i1, j1);
    }
  }
};

/** The two ends of edge i. */
export const edgeEnds = (tree: EdgeTree, i: number): readonly [Point, Point] => [
  tree.points[i] as Point,
  tree.points[i + 1 === tree.points.length ? 0 : i + 1] as Point,
];
