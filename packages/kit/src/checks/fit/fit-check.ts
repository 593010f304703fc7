import type { Rect } from "@kitforme/geometry";
import type { Piece } from "../../kit.ts";
import type { Ledger } from "../../ledger.ts";
import type { Margins, Stock } from "../../shop.ts";

type SheetSize = Stock["sheets"][number];

/** Where bleeds and where cuts may lie on one sheet of a stock that is printed on so many sides. Sheet space, micrometres. */
export type RoomOf = (stock: Stock, sheet: SheetSize, sides: 1 | 2) => { readonly print: Rect; readonly cut: Rect };

const within = ({ width, height }: SheetSize, m: Margins): Rect => ({
  x: m.left,
  y: m.bottom,
  width: width - m.left - m.right,
  height: height - m.bottom - m.top,
});

/** What press and cutter reach, marks not counted: the room as far as this package knows it. */
export const withinMargins = ({ press, cutter }: Stock, sheet: SheetSize): ReturnType<RoomOf> => ({
  print: press ? within(sheet, press.margins) : { x: 0, y: 0, ...sheet },
  cut: within(sheet, cutter.margins),
});

/** One rule asked of a piece and the stock it is made of. */
export type FitCheck = (piece: Piece, stock: Stock, report: Ledger, roomOf: RoomOf) => void;

/** The bleed a piece gets on a stock; none on unprinted stock and for unprinted pieces without slots. */
export const bleedOn = (piece: Piece, stock: Stock): number =>
  stock.press && (piece.artwork || piece.back || piece.slots.length > 0) ? (piece.bleed ?? stock.press.bleed) : 0;

/** Whether the stock says along which axis of the sheet its grain runs; of a square one long and short say nothing. */
export const grainKnown = (stock: Stock, { width, height }: SheetSize): boolean =>
  stock.grain !== undefined && width !== height;

/** Turns that bring the piece's grain along the sheet's: all allowed ones when either has none. */
export const turnsOn = (piece: Piece, stock: Stock, sheet: SheetSize): readonly number[] | "any" => {
  if (!piece.grain || !stock.grain || !grainKnown(stock, sheet)) return piece.turns;
  const needed = neededTurns(piece.grain, stock.grain, sheet);
  return piece.turns === "any" ? needed : piece.turns.filter((t) => needed.includes(t));
};

export const neededTurns = (
  piece: NonNullable<Piece["grain"]>,
  stock: NonNullable<Stock["grain"]>,
  { width, height }: SheetSize,
): readonly number[] => {
  const upright = height > width === (stock === "long");
  return upright === (piece === "vertical") ? [0, 180] : [90, 270];
};
