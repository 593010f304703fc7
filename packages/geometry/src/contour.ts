// The closed ring. All answers that decide something (inside, positive) are exact; lengths are floats.
import { edgesOf, RUN } from "./edges.ts";
import { between, type Side, sideOf } from "./orient.ts";
import type { Contour, Point, Rect, Space } from "./point.ts";

/**
 * Signed area in square micrometres (shoelace over x, y as stored). Taken from the first point, so that a small ring far from
 * the corner loses nothing.
 */
export const area = (contour: Contour): number => {
  const first = contour[0];
  if (!first) return 0;
  let twice = 0;
  for (let i = 1; i + 1 < contour.length; i++) {
    const p = contour[i] as Point;
    const q = contour[i + 1] as Point;
    twice += (p.x - first.x) * (q.y - first.y) - (q.x - first.x) * (p.y - first.y);
  }
  return twice / 2;
};

/** Is the ring wound like an outer contour? A ring without area is not. */
export const isPositive = (contour: Contour): boolean => area(contour) > 0;

/** The same ring the other way round, beginning at the same point. */
export const reversed = <S extends Space>(contour: Contour<S>): Contour<S> => [
  ...contour.slice(0, 1),
  ...contour.slice(1).toReversed(),
];

/** The least box around the points. Throws RangeError for none: an empty line has no place. */
export const bounds = (points: readonly Point[]): Rect => {
  let minX = Infinity;
  let minY = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  for (const { x, y } of points) {
    if (x < minX) minX = x;
    if (x > maxX) maxX = x;
    if (y < minY) minY = y;
    if (y > maxY) maxY = y;
  }
  if (minX > maxX) throw new RangeError("bounds of no points");
  return { x: minX, y: minY, width: maxX - minX, height: maxY - minY };
};

/** Length of the closed line in micrometres, not rounded. */
export const perimeter = (contour: Contour): number => {
  let sum = 0;
  for (let i = 0; i < contour.length; i++) {
    const p = contour[i] as Point;
    const q = contour[(i + 1) % contour.length] as Point;
    sum += Math.hypot(q.x - p.x, q.y - p.y);
  }
  return sum;
};

/**
 * 1 inside, 0 on the line, -1 outside, by even and odd crossings of a ray; exact for whole micrometres.
 * Runs whose box the ray cannot meet are skipped, so many questions to one long contour are cheap.
 */
export const containsPoint = (contour: Contour, p: Point): Side => {
  const { boxes, leaves, count, points } = edgesOf(contour, true);
  let inside = false;
  const stack = [1];
  while (stack.length > 0) {
    const node = stack.pop() as number;
    const k = 4 * node;
    if (p.y < (boxes[k + 1] as number) || p.y > (boxes[k + 3] as number) || p.x > (boxes[k + 2] as number)) continue;
    if (node < leaves) {
      stack.push(2 * node, 2 * node + 1);
      continue;
    }
    const from = (node - leaves) * RUN;
    for (let i = from; i < Math.min(from + RUN, count); i++) {
      const a = points[i] as Point;
      const b = points[i + 1 === count ? 0 : i + 1] as Point;
      const above = a.y > p.y;
      if (above === b.y > p.y) {
        if (a.y === p.y && b.y === p.y && between(a, b, p)) return 0;
        if ((a.y === p.y && a.x === p.x) || (b.y === p.y && b.x === p.x)) return 0;
        continue;
      }
      const side = above ? sideOf(b, a, p) : sideOf(a, b, p);
      if (side === 0) return 0;
      if (side > 0) inside = !inside;
    }
  }
  return inside ? 1 : -1;
};

/**
 * The ring without what says nothing: points repeated, points in the middle of a straight run, spikes that go out and come
 * back on themselves. The line stays the same. Fewer than three points left: an empty ring.
 */
export const tidy = <S extends Space>(contour: Contour<S>): Contour<S> => {
  const out: Point<S>[] = [];
  const settle = () => {
    for (;;) {
      const c = out.at(-1);
      const b = out.at(-2);
      const a = out.at(-3);
      if (b && c && b.x === c.x && b.y === c.y) out.pop();
      else if (a && b && c && sideOf(a, b, c) === 0) out.splice(-2, 1);
      else return;
    }
  };
  for (const p of contour) {
    out.push(p);
    settle();
  }
  // The seam: the same rules across the end and the beginning.
  let start = 0;
  for (;;) {
    if (out.length - start < 3) return [];
    const a = out.at(-2) as Point;
    const b = out.at(-1) as Point;
    const c = out[start] as Point;
    const d = out[start + 1] as Point;
    if (sideOf(a, b, c) === 0) out.pop();
    else if (sideOf(b, c, d) === 0) start++;
    else return start === 0 && out.length === contour.length ? contour : out.slice(start);
  }
};
