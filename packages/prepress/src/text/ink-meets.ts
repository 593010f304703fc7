import { type Contour, containsPoint, distanceBetween, type Point } from "@kitforme/geometry";
import { glyphOutline, ringsOf } from "./outline.ts";
import type { Typeface } from "./typeface.ts";

/** A glyph at its place, em, y up. */
export interface Stood {
  readonly face: Typeface;
  readonly glyph: number;
  readonly x: number;
  readonly y: number;
}

/** Micrometres to the em in which ink is compared. */
const FINE = 10_000;

const ringsAt = ({ face, glyph, x, y }: Stood): Contour<"drawing">[] => {
  const unit = FINE / face.unitsPerEm;
  return ringsOf(
    glyphOutline(face, glyph).commands.map(({ type, values }) => ({
      type,
      values: values.map((v, i) => (i % 2 === 0 ? x : y) * FINE + v * unit),
    })),
  );
};

const boxOf = ({
  face,
  glyph,
  x,
  y,
}: Stood): readonly [left: number, right: number, bottom: number, top: number] | null => {
  const box = glyphOutline(face, glyph).bounds;
  const em = face.unitsPerEm;
  return box && [x + box.left / em, x + box.right / em, y + box.bottom / em, y + box.top / em];
};

/** Whether the ink of two glyphs meets. */
export const inkMeets = (a: Stood, b: Stood): boolean => {
  const [one, other] = [boxOf(a), boxOf(b)];
  if (!one || !other) return false;
  if (one[0] >= other[1] || other[0] >= one[1] || one[2] >= other[3] || other[2] >= one[3]) return false;
  const rings = ringsAt(b);
  // Where no line crosses, one may lie within the other.
  return ringsAt(a).some((ring) =>
    rings.some(
      (inner) =>
        distanceBetween({ points: ring, closed: true }, { points: inner, closed: true }) === 0 ||
        containsPoint(ring, inner[0] as Point<"drawing">) > 0 ||
        containsPoint(inner, ring[0] as Point<"drawing">) > 0,
    ),
  );
};
