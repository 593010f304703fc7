import { apply, type Matrix, type Rect } from "@kitforme/geometry";

/** A rectangle and so much around it. */
export const grown = ({ x, y, width, height }: Rect, by: number): Rect => ({
  x: x - by,
  y: y - by,
  width: width + 2 * by,
  height: height + 2 * by,
});

/** The rectangle around both. */
export const joined = (a: Rect, b: Rect): Rect => {
  const [x, y] = [Math.min(a.x, b.x), Math.min(a.y, b.y)];
  const right = Math.max(a.x + a.width, b.x + b.width);
  const top = Math.max(a.y + a.height, b.y + b.height);
  return { x, y, width: right - x, height: top - y };
};

/** Whether two have a point in common. */
export const touching = (a: Rect, b: Rect): boolean =>
  a.x <= b.x + b.width && b.x <= a.x + a.width && a.y <= b.y + b.height && b.y <= a.y + a.height;

/** Whether the first lies in the second. */
export const within = (a: Rect, b: Rect): boolean =>
  a.x >= b.x && a.y >= b.y && a.x + a.width <= b.x + b.width && a.y + a.height <= b.y + b.height;

/** The rectangle around a rectangle that is moved, turned or scaled. */
export const rectAt = (matrix: Matrix, { x, y, width, height }: Rect): Rect => {
  const corners = [
    apply(matrix, x, y),
    apply(matrix, x + width, y),
    apply(matrix, x, y + height),
    apply(matrix, x + width, y + height),
  ];
  const [xs, ys] = [corners.map(([u]) => u), corners.map(([, v]) => v)];
  const [left, bottom] = [Math.min(...xs), Math.min(...ys)];
  return { x: left, y: bottom, width: Math.max(...xs) - left, height: Math.max(...ys) - bottom };
};

/** Bounds of path data with its handles, and 0.3 mm around them; of no size where it has no point. */
export const boundsOfData = (outlines: string): Rect => {
  let [left, bottom, right, top] = [Infinity, Infinity, -Infinity, -Infinity];
  let across = true;
  for (const [found] of outlines.matchAll(/-?[\d.]+(?:e-?\d+)?/g)) {
    const value = Number(found);
    if (across) [left, right] = [Math.min(left, value), Math.max(right, value)];
    else [bottom, top] = [Math.min(bottom, value), Math.max(top, value)];
    across = !across;
  }
  if (left > right) return { x: 0, y: 0, width: 0, height: 0 };
  return grown({ x: left, y: bottom, width: right - left, height: top - bottom }, 300);
};
