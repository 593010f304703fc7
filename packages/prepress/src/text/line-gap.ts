import { inkMeets } from "./ink-meets.ts";
import { glyphOutline } from "./outline.ts";
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

/** The leading that lines need which run into each other; none where no ink meets. Type sizes. */
export const leadingLacked = (
  lines: readonly ShapedLine[],
  { lines: spans, leading }: { readonly lines: readonly Span[]; readonly leading: number },
  align: Align,
): number | undefined => {
  const need = gapOf(lines, spans, align);
  if (need - APART <= leading) return undefined;
  const boxes = lines.map((line, i) => boxesOf(line, spans[i] as Span, align));
  const met = boxes
    .slice(1)
    .some((lower, i) => boxes[i]?.some((a) => lower.some((b) => inkMeets(a, { ...b, y: b.y - leading }))));
  return met ? need : undefined;
};
