import { apply, mm, type Um } from "@kitforme/geometry";
import type { Press, Stock } from "@kitforme/kit";
import { BLACK } from "@kitforme/prepress";
import { codeOutlines } from "./code.ts";
import type { Furniture } from "./furniture.ts";
import { clearHalfOf, halfOf, type SheetSize } from "./marks.ts";
import type { Mark, SheetBack } from "./sheet.ts";
import { setSlug, type SlugFacts } from "./slug.ts";
import { turnedRect, turnOver } from "./turn-over.ts";

/** Width of a target's line: fine enough to judge by, wide enough for any press. */
const LINE: Um = mm(0.2);

/**
 * The back of a sheet: code and slug stand behind the front's, readable; behind each of its marks a square frame, so wide
 * that a mark seen through the sheet touches it where both sides lie off each other by the press's register.
 */
export const imposeBack = (
  stock: Stock,
  press: Press,
  size: SheetSize,
  { marks, code, slug }: Furniture,
  content: string,
  facts: SlugFacts,
): SheetBack => {
  const matrix = turnOver(press, size);
  const words = setSlug({ ...facts, side: "back" }, turnedRect(matrix, slug));
  const behind = { ...code, box: turnedRect(matrix, code.box) };
  const outer = Math.min(halfOf(stock) + press.register + LINE, clearHalfOf(stock));
  const targets = marks.map(({ at }: Mark) => {
    const [x, y] = apply(matrix, at.x, at.y);
    return frame(x, y, outer, outer - LINE);
  });
  return {
    matrix,
    slug: words.words,
    inks: [codeOutlines(content, behind), words.outlines, ...targets].map((outlines) => ({ outlines, ink: BLACK })),
  };
};

/** Filled nonzero: the inner square runs the other way. */
const frame = (x: number, y: number, outer: number, inner: number): string =>
  [outer, -inner].map((h) => square(x, y, Math.abs(h), Math.sign(h))).join(" ");

const square = (x: number, y: number, half: number, way: number): string =>
  `M ${x - half} ${y - way * half} L ${x + half} ${y - way * half} L ${x + half} ${y + way * half} L ${x - half} ${y + way * half} Z`;
