// Growing and shrinking: bleed, safety margins, clearances.
import { combineRings, offsetRings } from "./clipper.ts";
import { perimeter } from "./contour.ts";
import { OFFSET_TOLERANCE, type Um } from "./length.ts";
import { ringsOf } from "./outline.ts";
import { simplifyRing } from "./simplify.ts";
import type { Contour, Outline, Space } from "./point.ts";

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
  const tolerance = options.tolerance ?? OFFSET_TOLERANCE;
  let now = combineRings(
    "union",
    ringsOf(outlines).map((ring) => simplifyRing(ring, tolerance / 2)),
    [],
  );
  if (by === 0) return union0(outlines);
  for (const step of stepsOf(ringsOf(now), by)) {
    const rings = ringsOf(now).map((ring) => simplifyRing(ring, tolerance / 8));
    now = offsetRings(rings, step, tolerance / 4);
  }
  return now;
};

const union0 = <S extends Space>(outlines: readonly Outline<S>[]): Outline<S>[] =>
  combineRings("union", ringsOf(outlines), []);

/**
 * Discs add up, so one offset by d is the same as several that sum to d, and the early small ones smooth the contour for the
 * late large ones.
 */
const stepsOf = (rings: readonly Contour[], by: Um): Um[] => {
  const vertices = rings.reduce((n, ring) => n + ring.length, 0);
  const edge = rings.reduce((sum, ring) => sum + perimeter(ring), 0) / Math.max(1, vertices);
  const steps: Um[] = [];
  let left = Math.abs(by);
  let step = Math.max(1, Math.round(edge));
  if (vertices * (left / edge) > 20_000)
    while (step < left / 2) {
      steps.push(step);
      left -= step;
      step *= 2;
    }
  steps.push(left);
  return steps.map((s) => Math.sign(by) * s);
};
