import { type Contour, mm, type Point } from "@kitforme/geometry";

/** A bend sharper than this is a corner; curves flattened to 4 µm bend less down to a radius of 0.15 mm. Degrees. */
const CORNER = 30;
/** A run this long is straight: chords of a curve flattened to 4 µm are shorter up to a radius of 125 mm. */
const STRAIGHT = mm(2);

const cross = (a: Point, b: Point, c: Point): number => (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
const dot = (a: Point, b: Point, c: Point): number => (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y);

/** How far a line turns at `b`, in degrees without sign. */
export const bendAt = (a: Point, b: Point, c: Point): number =>
  (Math.atan2(Math.abs(cross(a, b, c)), dot(a, b, c)) * 180) / Math.PI;

export const isCorner = (a: Point, b: Point, c: Point): boolean => bendAt(a, b, c) > CORNER;

/**
 * The points of a ring where a blade may enter without showing (common practice): its corners and the ends of its straight
 * runs; on a ring that has neither, any point.
 *
 * @returns indices into `ring`, rising; never empty
 */
export const startsOf = (ring: Contour): number[] => {
  const at = (i: number): Point => ring[(i + ring.length) % ring.length] as Point;
  const long = (i: number): boolean => Math.hypot(at(i + 1).x - at(i).x, at(i + 1).y - at(i).y) >= STRAIGHT;
  const indices = ring.map((_, i) => i);
  const good = indices.filter((i) => isCorner(at(i - 1), at(i), at(i + 1)) || long(i) || long(i - 1));
  return good.length > 0 ? good : indices;
};
