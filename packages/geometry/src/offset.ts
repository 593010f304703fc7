// Growing and shrinking: bleed, safety margins, clearances.
import { askPoints, combineRings, offsetRings } from "./clipper.ts";
import { OFFSET_TOLERANCE, type Um } from "./length.ts";
import { ringsOf } from "./outline.ts";
import { fillPockets } from "./pockets.ts";
import { simplifyRing } from "./simplify.ts";
import type { Outline, Space } from "./point.ts";

/** How exact `grow` is. */
export interface GrowOptions {
  /** How far the result may stray from the true offset (default OFFSET_TOLERANCE). */
  readonly tolerance?: Um;
}

/**
 * The outlines grown by `by` micrometres (shrunk when negative) with round corners: every point nearer than `by` belongs to
 * the result. Openings shrink and vanish, parts that meet merge, slots narrower than 2 `by` close.
 * Overlapping outlines are merged first. Throws RangeError for a coordinate or `by` that is not a number or beyond 47 m.
 */
export const grow = <S extends Space>(
  outlines: readonly Outline<S>[],
  by: Um,
  options: GrowOptions = {},
): Outline<S>[] => {
  const rings = ringsOf(outlines);
  // Asked here, because thinning out would quietly drop a point that is no number.
  rings.forEach(askPoints);
  if (by === 0) return combineRings("union", rings, []);
  // The tolerance is shared: half for the contour, a quarter each for the pockets and for the arcs at the corners.
  const tolerance = options.tolerance ?? OFFSET_TOLERANCE;
  const light = rings.map((ring) => fillPockets(simplifyRing(ring, tolerance / 2), by, tolerance / 4));
  return offsetRings(ringsOf(combineRings("union", light, [])), by, tolerance / 4);
};
