import { apply, overlapOf, type Rect, type Um } from "@kitforme/geometry";
import type { Press, Stock } from "@kitforme/kit";
import { BLACK } from "@kitforme/prepress/line";
import { codeOutlines } from "./code.ts";
import type { Furniture } from "./furniture.ts";
import { FRAME, halfOf, printableOf, type SheetSize } from "./marks.ts";
import type { Mark, SheetBack } from "./sheet.ts";
import { setSlug, type SlugFacts } from "./slug.ts";
import { turnedRect, turnOver } from "./turn-over.ts";
import { drawItem } from "./waste/draw-item.ts";
import type { Furnished } from "./waste/furnish-waste.ts";

/**
 * The back of a sheet: code and slug stand behind the front's, readable; around the place behind each of its marks a square
 * frame, so wide that a mark seen through the sheet touches it where both sides lie off each other by the press's register. Of
 * frames at the edge of what prints the inner bars are left: those of opposite corners show both directions. What the waste of the
 * front carries for the press stands behind it, but for the ruler.
 */
export const imposeBack = (
  stock: Stock,
  press: Press,
  size: SheetSize,
  { marks, code, slug }: Furniture,
  front: {
    readonly code: string;
    readonly facts: SlugFacts;
    readonly furnished?: Furnished | undefined;
  },
): SheetBack => {
  const matrix = turnOver(press, size);
  const words = setSlug({ ...front.facts, side: "back" }, turnedRect(matrix, slug));
  const behind = { ...code, box: turnedRect(matrix, code.box) };
  const printable = printableOf(stock, size);
  const half = halfOf(stock) + press.register + FRAME;
  const targets = marks.map(({ at }: Mark) => {
    const [x, y] = apply(matrix, at.x, at.y);
    return frame(x, y, half, printable);
  });
  return {
    matrix,
    slug: words.words,
    inks: [
      ...[codeOutlines(front.code, behind), words.outlines, ...targets].map((outlines) => ({ outlines, ink: BLACK })),
      // The paper is measured once: the ruler stays on the front.
      ...(front.furnished?.waste.placed ?? [])
        .filter(({ item }) => item !== "scaleBar")
        .flatMap(({ item, box }) => drawItem(item, turnedRect(matrix, box), press, front.furnished?.spots ?? [])),
    ],
  };
};

/** The four bars of a square frame as far as the press prints; those toward the sheet's edge may be beyond. */
const frame = (x: number, y: number, half: Um, printable: Rect): string =>
  [
    { x: x - half, y: y - half, width: 2 * half, height: FRAME },
    { x: x - half, y: y + half - FRAME, width: 2 * half, height: FRAME },
    { x: x - half, y: y - half, width: FRAME, height: 2 * half },
    { x: x + half - FRAME, y: y - half, width: FRAME, height: 2 * half },
  ]
    .map((bar) => overlapOf(bar, printable))
    .flatMap((bar) => (bar && Math.min(bar.width, bar.height) === FRAME ? [pathOf(bar)] : []))
    .join(" ");

const pathOf = ({ x, y, width, height }: Rect): string =>
  `M ${x} ${y} L ${x + width} ${y} L ${x + width} ${y + height} L ${x} ${y + height} Z`;
