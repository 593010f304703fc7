import type { Contour, Point } from "@kitforme/geometry";

/** A bend sharper than this is a corner; curves flattened to 4 µm bend less down to a radius of 0.15 mm. Degrees. */
const CORNER = 30;

const cross = (a: Point, b: Point, c: Point): number => (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
const dot = (a: Point, b: Point, c: Point): number => (b.x - a.x) * (c.x - b.x) + (b.y - a.y) * (c.y - b.y);
const leftOf = (a: Point, b: Point): boolean => a.x < b.x || (a.x === b.x && a.y < b.y);

/**
 * The same ring begun where the blade may enter without showing: at its leftmost corner (the lower of two), or, where it has
 * no corner, at the beginning of its longest straight run (common practice). Points are kept as they are.
 */
export const startAtRest = <S extends "drawing" | "sheet">(ring: Contour<S>): Contour<S> => {
  const at = (i: number): Point<S> => ring[(i + ring.length) % ring.length] as Point<S>;
  const indices = ring.map((_, i) => i);
  const corners = indices.filter((i) => {
    const bend = Math.atan2(Math.abs(cross(at(i - 1), at(i), at(i + 1))), dot(at(i - 1), at(i), at(i + 1)));
    return (bend * 180) / Math.PI > CORNER;
  });
  const length2 = (i: number): number => (at(i + 1).x - at(i).x) ** 2 + (at(i + 1).y - at(i).y) ** 2;
  const before =
    corners.length > 0
      ? (a: number, b: number) => leftOf(at(a), at(b))
      : (a: number, b: number) => length2(a) > length2(b) || (length2(a) === length2(b) && leftOf(at(a), at(b)));
  const start = (corners.length > 0 ? corners : indices).reduce((best, i) => (before(i, best) ? i : best));
  return [...ring.slice(start), ...ring.slice(0, start)];
};
