import { toMm, type Um } from "@kitforme/geometry";
import type { Finding, Stock } from "@kitforme/kit";
import { codeWidthOf } from "./furniture.ts";
import { clearHalfOf, type SheetSize, spanOf } from "./marks.ts";
import { bothSides } from "./turn-over.ts";
import { say } from "./words.ts";

/**
 * Whether every sheet of a stock has room for its marks: the fifth must stand clear of the corner and of its own mirror
 * image, those along the long edges of it and of each other, the rows clear of each other, and the code must fit between two of the
 * lower edge. An error `sheet-too-small` for each size that has not.
 */
export const sheetFaults = (stock: Stock): Finding[] => {
  const { press, cutter } = stock;
  if (!press) return [];
  const zone = 2 * clearHalfOf(stock);
  const room = codeWidthOf(press) + zone;
  const parts = cutter.marks.along + 1;
  /** Least width and height of what the marks span. */
  const leastOf = ({ width, height }: SheetSize): readonly [Um, Um] => {
    if (parts > 1 && width > height) return [parts * Math.max(2 * zone, room), 2 * zone];
    // The fifth stands at a third of the width: a third is what it keeps from the corner and from its mirror image.
    return [Math.max(3 * zone, Math.ceil(1.5 * room)), Math.max(2, parts) * zone];
  };
  return stock.sheets
    .map((size) => {
      const both = press.sides === 2 ? bothSides(stock, size) : stock;
      return { size, least: leastOf(size), span: spanOf(both, both.press ?? press, size) };
    })
    .filter(({ span, least }) => span.width < least[0] || span.height < least[1])
    .map(({ size, span, least }) =>
      say(
        "sheet-too-small",
        { stock: stock.stock },
        {
          sheet: [toMm(size.width), toMm(size.height)],
          left: [toMm(span.width), toMm(span.height)],
          needed: [toMm(least[0]), toMm(least[1])],
          press: press.name,
          cutter: cutter.name,
        },
      ),
    );
};
