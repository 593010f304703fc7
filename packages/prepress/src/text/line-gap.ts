import { type Contour, containsPoint, distanceBetween, type Point } from "@kitforme/geometry";
import { glyphOutline, ringsOf } from "./outline.ts";
import type { PlacedGlyph, ShapedLine } from "./shape.ts";

/** Room left between the ink of two lines, in type sizes: common practice, no source. */
const APART = 0.02;

interface Span {
  readonly left: number;
  readonly width: number;
}
type Align = "left" | "centre" | "right";

/** A glyph at its place and the box of its ink, y up. */
interface InkBox extends PlacedGlyph {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

/** Boxes of a line's glyphs as it will stand under the others, em. */
const boxesOf = ({ glyphs }: ShapedLine, { left, width }: Span, align: Align): InkBox[] => {
  const shift = { left: -left, centre: -left - width / 2, right: -left - width }[align];
  return glyphs.flatMap(({ face, glyph, x, y }) => {
    const box = glyphOutline(face, glyph).bounds;
    if (!box) return [];
    const em = face.unitsPerEm;
    return [
      {
        face,
        glyph,
        x: shift + x,
        y,
        left: shift + x + box.left / em,
        right: shift + x + box.right / em,
        bottom: y + box.bottom / em,
        top: y + box.top / em,
      },
    ];
  });
};

/** What two neighbouring lines need from baseline to baseline so that no glyph's box meets one above or below it; em. */
const needOf = (upper: readonly InkBox[], lower: readonly InkBox[]): number => {
  let need = 0;
  for (const above of upper)
    for (const below of lower)
      if (above.left < below.right && below.left < above.right) need = Math.max(need, below.top - above.bottom);
  return need;
};

/** The least leading at which no line's ink meets another's, as they are aligned; 0 for a single line. Type sizes. */
export const gapOf = (lines: readonly ShapedLine[], spans: readonly Span[], align: Align): number => {
  const boxes = lines.map((line, i) => boxesOf(line, spans[i] as Span, align));
  return boxes.slice(1).reduce((need, lower, i) => Math.max(need, needOf(boxes[i] as InkBox[], lower) + APART), 0);
};

/** Whether the ink of two glyphs meets, each at its place; em. */
const meets = (a: InkBox, b: InkBox, rise: number): boolean => {
  if (b.top - rise <= a.bottom || b.left >= a.right || a.left >= b.right) return false;
  const [upper, lower] = [ringsAt(a, 0), ringsAt(b, -rise)];
  // Where no line crosses, one may lie within the other.
  return upper.some((ring) =>
    lower.some(
      (other) =>
        distanceBetween({ points: ring, closed: true }, { points: other, closed: true }) === 0 ||
        containsPoint(ring, other[0] as Point<"drawing">) > 0 ||
        containsPoint(other, ring[0] as Point<"drawing">) > 0,
    ),
  );
};

/** Micrometres to the em in which ink is compared. */
const FINE = 10_000;

const ringsAt = ({ face, glyph, x, y }: InkBox, rise: number): Contour<"drawing">[] => {
  const unit = FINE / face.unitsPerEm;
  return ringsOf(
    glyphOutline(face, glyph).commands.map(({ type, values }) => ({
      type,
      values: values.map((v, i) => (i % 2 === 0 ? x * FINE + v * unit : (y + rise) * FINE + v * unit)),
    })),
  );
};

/** The leading that lines need which run into each other; none where no ink meets. Type sizes. */
export const leadingLacked = (
  lines: readonly ShapedLine[],
  { lines: spans, leading }: { readonly lines: readonly Span[]; readonly leading: number },
  align: Align,
): number | undefined => {
  const need = gapOf(lines, spans, align);
  if (need - APART <= leading) return undefined;
  const boxes = lines.map((line, i) => boxesOf(line, spans[i] as Span, align));
  const met = boxes.slice(1).some((lower, i) => boxes[i]?.some((a) => lower.some((b) => meets(a, b, leading))));
  return met ? need : undefined;
};
