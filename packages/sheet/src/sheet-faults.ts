import { toMm } from "@kitforme/geometry";
import type { Finding, Stock } from "@kitforme/kit";
import { clearHalfOf, spanOf } from "./marks.ts";
import { bothSides } from "./turn-over.ts";
import { say } from "./words.ts";

/**
 * Whether every sheet of a stock has room for its marks: the fifth must stand clear of the corner and of its own mirror
 * image, and the rows of marks clear of each other. An error `sheet-too-small` for each size that has not.
 */
export const sheetFaults = (stock: Stock): Finding[] => {
  const { press, cutter } = stock;
  if (!press) return [];
  const zone = 2 * clearHalfOf(stock);
  // The fifth stands at a third of the width: a third is what it keeps from the corner and from its mirror image.
  const [leastWidth, leastHeight] = [3 * zone, 2 * zone];
  return stock.sheets
    .map((size) => {
      const both = press.sides === 2 ? bothSides(stock, size) : stock;
      return { size, span: spanOf(both, both.press ?? press, size) };
    })
    .filter(({ span }) => span.width < leastWidth || span.height < leastHeight)
    .map(({ size, span }) =>
      say(
        "sheet-too-small",
        { stock: stock.stock },
        {
          sheet: [toMm(size.width), toMm(size.height)],
          left: [toMm(span.width), toMm(span.height)],
          needed: [toMm(leastWidth), toMm(leastHeight)],
          press: press.name,
          cutter: cutter.name,
        },
      ),
    );
};
