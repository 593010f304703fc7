import { mm, outlinesBounds, outlinesDistance, placeOutlines, toMm, touches } from "@kitforme/geometry";
import type { Finding } from "@kitforme/kit";
import type { Sheet } from "@kitforme/sheet";
import { byStock } from "./by-stock.ts";
import { say } from "./words.ts";

/** No cutter keeps paper between two cuts that lie nearer (common practice, no source); within a piece, `cuts-nearly-equal`. */
const KEPT = mm(0.2);
/** Two pieces with the same edge, each rounded at its place. */
const SAME = 3;

/**
 * Sheets on which the cuts of two pieces lie on each other, or nearly: the shop asks for hardly any clearance, and the pieces have
 * no bleed that keeps them apart. Where the clearance is wider nothing is looked at.
 */
export const cutsShared = (sheets: readonly Sheet[]): Finding[] =>
  byStock(
    sheets.filter(({ stock: { press, cutter } }) => (press ? cutter.clearance : cutter.bareClearance) < KEPT),
  ).flatMap(([{ stock, of }, all]) => {
    const near = all.map((one) => ({ sheet: one.sheet, apart: leastApart(one) })).filter(({ apart }) => apart < KEPT);
    const [first] = near;
    if (!first) return [];
    const apart = Math.min(...near.map((one) => one.apart));
    return [
      say(
        "cuts-shared",
        { stock: stock.stock, sheet: first.sheet },
        { apart: apart <= SAME ? 0 : toMm(Math.round(apart)), sheets: near.map(({ sheet }) => sheet), of },
      ),
    ];
  });

/** Least distance between the outlines of two pieces of a sheet, as far as it is below what is kept; micrometres. */
const leastApart = ({ placed }: Sheet): number => {
  const pieces = placed.map(({ matrix, prepared }) => {
    const outlines = placeOutlines(matrix, prepared.piece.parts);
    return { outlines, box: outlinesBounds(outlines) };
  });
  let least: number = KEPT;
  pieces.forEach((a, i) => {
    for (const b of pieces.slice(i + 1))
      if (least > 0 && touches(a.box, b.box, KEPT)) least = Math.min(least, outlinesDistance(a.outlines, b.outlines));
  });
  return least;
};
