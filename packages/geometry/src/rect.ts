// The axis-aligned box: live areas, keep-outs, bounds. Both edges belong to the box.
import type { Um } from "./length.ts";
import type { Contour, Point, Rect, Space } from "./point.ts";

/** The box moved in by `by` on every side (out when negative). A side that would turn over becomes 0, kept at the middle. */
export const inset = (rect: Rect, by: Um): Rect => {
  const width = Math.max(0, rect.width - 2 * by);
  const height = Math.max(0, rect.height - 2 * by);
  return {
    x: width > 0 ? rect.x + by : Math.round(rect.x + rect.width / 2),
    y: height > 0 ? rect.y + by : Math.round(rect.y + rect.height / 2),
    width,
    height,
  };
};

/** Is `inner` wholly within `outer`? Shared edges are within. */
export const containsRect = (outer: Rect, inner: Rect): boolean =>
  inner.x >= outer.x &&
  inner.y >= outer.y &&
  inner.x + inner.width <= outer.x + outer.width &&
  inner.y + inner.height <= outer.y + outer.height;

/** Is the point within the box or on its edge? */
export const rectHas = (rect: Rect, p: Point): boolean =>
  p.x >= rect.x && p.y >= rect.y && p.x <= rect.x + rect.width && p.y <= rect.y + rect.height;

/** Do the boxes have at least one point in common, or lie no farther apart than `within` in x and in y? */
export const touches = (a: Rect, b: Rect, within: Um = 0): boolean =>
  a.x <= b.x + b.width + within &&
  b.x <= a.x + a.width + within &&
  a.y <= b.y + b.height + within &&
  b.y <= a.y + a.height + within;

/** The four corners, wound so that the area is positive. */
export const contourOf = <S extends Space>(rect: Rect): Contour<S> => [
  { x: rect.x, y: rect.y },
  { x: rect.x + rect.width, y: rect.y },
  { x: rect.x + rect.width, y: rect.y + rect.height },
  { x: rect.x, y: rect.y + rect.height },
];

/** The least box that holds both. */
export const unionOf = (a: Rect, b: Rect): Rect => {
  const x = Math.min(a.x, b.x);
  const y = Math.min(a.y, b.y);
  return {
    x,
    y,
    width: Math.max(a.x + a.width, b.x + b.width) - x,
    height: Math.max(a.y + a.height, b.y + b.height) - y,
  };
};

/** What both boxes share; undefined when they have no point in common. May have no width or height when edges only touch. */
export const overlapOf = (a: Rect, b: Rect): Rect | undefined => {
  const x = Math.max(a.x, b.x);
  const y = Math.max(a.y, b.y);
  const width = Math.min(a.x + a.width, b.x + b.width) - x;
  const height = Math.min(a.y + a.height, b.y + b.height) - y;
  return width < 0 || height < 0 ? undefined : { x, y, width, height };
};
