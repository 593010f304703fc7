import type { Contour, Outline, Um } from "@kitforme/geometry";
import { area, bounds, containsPoint, contourOf, distanceBetween, insideOutlines } from "@kitforme/geometry";
import type { Line } from "@kitforme/kit";

/** The line of a piece that comes nearest to some ink, and how near. */
export interface Nearest {
  readonly line: Line;
  /** Micrometres; 0 when the line runs through the ink. */
  readonly distance: number;
}

/** Nonzero winding about the beginning of a line: a short line may lie wholly inside a letter's stroke. */
const beginsInside = (line: Line, rings: readonly Contour<"drawing">[]): boolean => {
  const start = line.points[0];
  if (!start) return false;
  return rings.reduce((sum, ring) => sum + (containsPoint(ring, start) >= 0 ? Math.sign(area(ring)) : 0), 0) !== 0;
};

const isNear = (box: Contour<"drawing">, line: Line, within: Um): boolean =>
  beginsInside(line, [box]) || distanceBetween({ points: box, closed: true }, line) < within;

/** The nearest of `lines` to ink filled by nonzero winding, as far as it is nearer than `within`; else `null`. */
export const nearestLine = (
  rings: readonly Contour<"drawing">[],
  lines: readonly Line[],
  within: Um,
): Nearest | null => {
  let nearest: Nearest | null = null;
  if (rings.length === 0) return null;
  const boxes = rings.map((ring) => contourOf<"drawing">(bounds(ring)));
  const whole = contourOf<"drawing">(bounds(boxes.flat()));
  for (const line of lines) {
    // Boxes first: of the many edges of the letters, hardly any ever has to be looked at.
    if (!isNear(whole, line, within)) continue;
    const close = rings.filter((_, i) => isNear(boxes[i] as Contour<"drawing">, line, within));
    if (close.length === 0) continue;
    const apart = beginsInside(line, close)
      ? 0
      : Math.min(...close.map((points) => distanceBetween({ points, closed: true }, line)));
    if (apart < (nearest?.distance ?? within)) nearest = { line, distance: apart };
  }
  return nearest;
};

/** Whether a ring of ink that crosses no line lies on the paper of a piece: inside a part and in none of its openings. */
export const onPaper = (ring: Contour<"drawing">, parts: readonly Outline<"drawing">[]): boolean =>
  ring[0] !== undefined && insideOutlines(parts, ring[0]) >= 0;
