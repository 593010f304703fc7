// The outer contour with its openings, and how rings nest into outlines.
import { area, bounds, containsPoint, reversed } from "./contour.ts";
import type { Side } from "./orient.ts";
import { containsRect } from "./rect.ts";
import type { Contour, Outline, Point, Rect, Space } from "./point.ts";

interface Nested<S extends Space> {
  readonly ring: Contour<S>;
  readonly box: Rect;
  readonly size: number;
  readonly depth: number;
  readonly parent: Nested<S> | undefined;
  readonly openings: Nested<S>[];
}

const inReadingOrder = (a: { box: Rect; size: number }, b: { box: Rect; size: number }): number =>
  a.box.y - b.box.y || a.box.x - b.box.x || b.size - a.size;

/** Does `outer` hold `inner`, given that they do not cross? The first corner (or edge middle) off the line decides. */
const holds = (outer: Contour, inner: Contour): boolean => {
  for (const p of inner) {
    const side = containsPoint(outer, p);
    if (side !== 0) return side > 0;
  }
  for (let i = 0; i < inner.length; i++) {
    const p = inner[i] as Point;
    const q = inner[(i + 1) % inner.length] as Point;
    const side = containsPoint(outer, { x: (p.x + q.x) / 2, y: (p.y + q.y) / 2 });
    if (side !== 0) return side > 0;
  }
  return true;
};

const wound = <S extends Space>(ring: Contour<S>, positive: boolean): Contour<S> =>
  area(ring) > 0 === positive ? ring : reversed(ring);

/**
 * Rings, wound either way, nested by containment: even depth is an outer contour, odd depth an opening, an island in an
 * opening is an outline of its own. Rings without area are dropped. Rings that cross each other have no right answer:
 * ask `crossings` first. In order of the outer boxes, top to bottom (least y first), then left to right.
 */
export const outlinesOf = <S extends Space>(rings: readonly Contour<S>[]): Outline<S>[] => {
  const sorted = rings
    .filter((ring) => ring.length > 2 && area(ring) !== 0)
    .map((ring) => ({ ring, box: bounds(ring), size: Math.abs(area(ring)) }))
    .sort((a, b) => b.size - a.size || inReadingOrder(a, b));
  const nested: Nested<S>[] = [];
  for (const one of sorted) {
    // Larger rings come first, so the last that holds this one is its parent.
    const parent = nested.findLast((other) => containsRect(other.box, one.box) && holds(other.ring, one.ring));
    const node: Nested<S> = { ...one, parent, depth: parent ? parent.depth + 1 : 0, openings: [] };
    if (parent && node.depth % 2 === 1) parent.openings.push(node);
    nested.push(node);
  }
  return nested
    .filter((node) => node.depth % 2 === 0)
    .sort(inReadingOrder)
    .map((node) => ({
      outer: wound(node.ring, true),
      openings: node.openings.sort(inReadingOrder).map((opening) => wound(opening.ring, false)),
    }));
};

/** Square micrometres of the outer contour less its openings. */
export const outlineArea = (outline: Outline): number =>
  Math.abs(area(outline.outer)) - outline.openings.reduce((sum, opening) => sum + Math.abs(area(opening)), 0);

/** Square micrometres of all outlines together, openings taken off. */
export const outlinesArea = (outlines: readonly Outline[]): number =>
  outlines.reduce((sum, outline) => sum + outlineArea(outline), 0);

/** All rings of all outlines, each outer contour before its openings. */
export const ringsOf = <S extends Space>(outlines: readonly Outline<S>[]): Contour<S>[] =>
  outlines.flatMap(({ outer, openings }) => [outer, ...openings]);

/** The least box around all outlines. Throws RangeError for none. */
export const outlinesBounds = (outlines: readonly Outline[]): Rect => bounds(outlines.flatMap(({ outer }) => outer));

/** 1 inside some outline (and in none of its openings), 0 on a line, -1 outside. */
export const insideOutlines = (outlines: readonly Outline[], p: Point): Side => {
  let best: Side = -1;
  for (const { outer, openings } of outlines) {
    let side = containsPoint(outer, p);
    if (side > 0)
      for (const opening of openings) {
        const within = containsPoint(opening, p);
        if (within >= 0) side = within > 0 ? -1 : 0;
        if (within >= 0) break;
      }
    if (side > 0) return 1;
    if (side === 0) best = 0;
  }
  return best;
};
