import { area, reversed } from "./contour.ts";
import type { Contour, Outline, Rect } from "./point.ts";
import { type Matrix, place, placeAll } from "./transform.ts";

const placeRing = (matrix: Matrix, ring: Contour<"drawing">, positive: boolean): Contour<"sheet"> => {
  const placed = placeAll(matrix, ring);
  return area(placed) > 0 === positive ? placed : reversed(placed);
};

/**
 * Whole outlines to their place on the sheet. The flip of y turns every ring over, so rings are wound anew: outer contours
 * positive, openings negative, as everywhere.
 */
export const placeOutlines = (matrix: Matrix, outlines: readonly Outline<"drawing">[]): Outline<"sheet">[] =>
  outlines.map(({ outer, openings }) => ({
    outer: placeRing(matrix, outer, true),
    openings: openings.map((opening) => placeRing(matrix, opening, false)),
  }));

/** The box of outlines at their place on the sheet, without laying them there: a job asks it of every piece that it places. */
export const placedBounds = (matrix: Matrix, outlines: readonly Outline<"drawing">[]): Rect => {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const { outer } of outlines)
    for (const point of outer) {
      const { x, y } = place(matrix, point);
      minX = Math.min(minX, x);
      minY = Math.min(minY, y);
      maxX = Math.max(maxX, x);
      maxY = Math.max(maxY, y);
    }
  if (minX > maxX) throw new RangeError("bounds of no points");
  return { x: minX, y: minY, width: maxX - minX, height: maxY - minY };
};
