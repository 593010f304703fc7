import { area, reversed } from "./contour.ts";
import type { Contour, Outline } from "./point.ts";
import { type Matrix, placeAll } from "./transform.ts";

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
