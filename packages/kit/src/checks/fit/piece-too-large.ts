import { apply, growOnce, matrixOf, type Outline, toMm } from "@kitforme/geometry";
import type { Piece } from "../../kit.ts";
import type { Stock } from "../../shop.ts";
import { bleedOn, type FitCheck, type RoomOf, turnsOn } from "./fit-check.ts";

interface Span {
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
}

const spanOf = (parts: readonly Outline[], degrees: number): Span => {
  const matrix = matrixOf({ degrees, e: 0, f: 0 });
  let [x0, x1, y0, y1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const { outer } of parts)
    for (const p of outer) {
      const [x, y] = apply(matrix, p.x, p.y);
      [x0, x1, y0, y1] = [Math.min(x0, x), Math.max(x1, x), Math.min(y0, y), Math.max(y1, y)];
    }
  return { x: [x0, x1], y: [y0, y1] };
};

/** How much is missing so that `inner` lies in `from` to `to` for both pairs at once; 0 when there is a place. */
const missing = (
  pairs: readonly { readonly inner: readonly [number, number]; readonly from: number; readonly to: number }[],
): number =>
  Math.max(0, Math.max(...pairs.map((p) => p.from - p.inner[0])) - Math.min(...pairs.map((p) => p.to - p.inner[1])));

interface Try {
  readonly over: readonly [number, number];
  readonly sheet: readonly [number, number];
  readonly turn: number;
}

/** The piece on one sheet at one turn: bleeds where they may lie, cuts where they may lie. */
const tryAt = (
  piece: Piece,
  reach: readonly Outline[],
  { print, cut }: ReturnType<RoomOf>,
  sheet: Stock["sheets"][number],
  turn: number,
): Try => {
  const trim = spanOf(piece.parts, turn);
  const all = spanOf(reach, turn);
  const over: [number, number] = [
    missing([
      { inner: all.x, from: print.x, to: print.x + print.width },
      { inner: trim.x, from: cut.x, to: cut.x + cut.width },
    ]),
    missing([
      { inner: all.y, from: print.y, to: print.y + print.height },
      { inner: trim.y, from: cut.y, to: cut.y + cut.height },
    ]),
  ];
  return { over, sheet: [sheet.width, sheet.height], turn };
};

const EVERY_DEGREE = Array.from({ length: 180 }, (_, i) => i);

/** Some sheet of the stock holds the piece with its bleed at some allowed turn; else the nearest miss is reported. */
export const pieceTooLarge: FitCheck = (piece, stock, report, roomOf) => {
  if (piece.parts.length === 0) return;
  const bleed = bleedOn(piece, stock);
  const reach = bleed > 0 ? growOnce(piece.parts, bleed) : piece.parts;
  let best: Try | undefined;
  for (const sheet of stock.sheets) {
    const turns = turnsOn(piece, stock, sheet);
    for (const turn of turns === "any" ? EVERY_DEGREE : turns) {
      const one = tryAt(piece, reach, roomOf(stock, sheet, piece.back ? 2 : 1), sheet, turn);
      if (!best || one.over[0] + one.over[1] < best.over[0] + best.over[1]) best = one;
      if (best.over[0] + best.over[1] === 0) return;
    }
  }
  // Half a micrometre is the rounding of a turned outline.
  if (best && best.over[0] + best.over[1] > 1)
    report.say(
      "piece-too-large",
      {
        over: [toMm(best.over[0]), toMm(best.over[1])],
        sheet: [toMm(best.sheet[0]), toMm(best.sheet[1])],
        turn: best.turn,
      },
      { stock: stock.stock },
    );
};
