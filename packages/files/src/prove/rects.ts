import { apply, inset, type Matrix, type Rect } from "@kitforme/geometry";

/** Whether a point lies within any of some rectangles; their edges are outside. */
export const withinAny = (rects: readonly Rect[], x: number, y: number): boolean =>
  rects.some((r) => x > r.x && x < r.x + r.width && y > r.y && y < r.y + r.height);

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
  return inset({ x: left, y: bottom, width: right - left, height: top - bottom }, -300);
};
