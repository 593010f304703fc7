import type { Point, Rect, Um } from "@kitforme/geometry";
import { inset, overlapOf } from "@kitforme/geometry";
import type { Margins, Press, Stock } from "@kitforme/kit";
import type { Mark } from "./sheet.ts";

/** One sheet as it lies, micrometres. */
export interface SheetSize {
  readonly width: Um;
  readonly height: Um;
}

const within = ({ width, height }: SheetSize, margins: Margins): Rect => ({
  x: margins.left,
  y: margins.bottom,
  width: Math.max(0, width - margins.left - margins.right),
  height: Math.max(0, height - margins.top - margins.bottom),
});

/** What the press can print of a sheet; the whole sheet when nothing is printed. Sheet space. */
export const printableOf = (stock: Stock, size: SheetSize): Rect =>
  stock.press ? within(size, stock.press.margins) : { x: 0, y: 0, ...size };

/** What the cutter can reach of a sheet. Sheet space. */
export const reachOf = (stock: Stock, size: SheetSize): Rect => within(size, stock.cutter.margins);

/** Blank paper that a mark keeps around it even where the shop asks for less: one that touches a picture or letters is no mark (no source). */
const LEAST_CLEAR: Um = 500;
/** Width of the line of the frame that the back has behind a mark: fine enough to judge by, wide enough for any press. */
export const FRAME: Um = 200;

/** Half a mark, and its half with the zone that must stay free around it; whole micrometres, rounded up. */
export const halfOf = (stock: Stock): Um => Math.ceil(stock.cutter.marks.size / 2);
export const clearHalfOf = (stock: Stock): Um => {
  // On two sides the back has a frame there, as far out as the sides may lie off each other: it keeps clear of pictures too.
  const framed = stock.press?.sides === 2 ? stock.press.register + FRAME : 0;
  return halfOf(stock) + Math.max(LEAST_CLEAR + framed, stock.cutter.marks.clear);
};

/**
 * The rectangle that the mark centres span: as large as press and cutter allow. The cutter follows the print, so where the
 * print lies off by the press's register, marks and cuts do too, and must still be within reach. A mark's free zone stays
 * on the sheet, else the camera sees the sheet's edge in it.
 */
export const spanOf = (stock: Stock, press: Press, size: SheetSize): Rect => {
  const reach = inset(reachOf(stock, size), press.register);
  const both = overlapOf(printableOf(stock, size), reach) ?? { ...reach, width: 0, height: 0 };
  const whole = inset({ x: 0, y: 0, ...size }, clearHalfOf(stock));
  return overlapOf(inset(both, halfOf(stock)), whole) ?? { ...whole, width: 0, height: 0 };
};

/** Where the fifth mark stands along the lower side, as a share of it: a third is as far from the corner as from the middle's mirror. */
const FIFTH = 1 / 3;

/** More marks on the two long edges, evenly between the corners, from below (or the left) in pairs: paper stretches along them. */
const alongEdges = (along: number, { x, y, width, height }: Rect): Point<"sheet">[] =>
  Array.from({ length: along }, (_, i) => (i + 1) / (along + 1)).flatMap((share): Point<"sheet">[] =>
    height >= width
      ? [x, x + width].map((u) => ({ x: u, y: y + Math.round(height * share) }))
      : [y, y + height].map((v) => ({ x: x + Math.round(width * share), y: v })),
  );

/**
 * The marks of a printed sheet: one in each corner of the rectangle that every cut lies in, and a fifth on its lower side, off
 * the middle, so that a sheet turned by half or mirrored is noticed. Plain discs, squares or crosses as the cutter wants them.
 * Unprinted stock is laid to the corner stops and has none. In order: lower left, lower right, upper
 * right, upper left, fifth, then those along the long edges that the cutter asks for.
 */
export const marksOf = (stock: Stock, size: SheetSize): Mark[] => {
  if (!stock.press) return [];
  const { x, y, width, height } = spanOf(stock, stock.press, size);
  const { shape, size: across, along } = stock.cutter.marks;
  const places: Point<"sheet">[] = [
    { x, y },
    { x: x + width, y },
    { x: x + width, y: y + height },
    { x, y: y + height },
    // On a wide sheet the lower edge is a long one: halfway to its first further mark is nobody's mirror image.
    { x: x + Math.round(width * (along > 0 && width > height ? 1 / (2 * (along + 1)) : FIFTH)), y },
    ...alongEdges(along, { x, y, width, height }),
  ];
  return places.map((at) => ({ at, shape, size: across }));
};
