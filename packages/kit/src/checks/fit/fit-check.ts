import type { Piece } from "../../kit.ts";
import type { Ledger } from "../../ledger.ts";
import type { Stock } from "../../shop.ts";

/** One rule asked of a piece and the stock it is made of. */
export type FitCheck = (piece: Piece, stock: Stock, told: Ledger) => void;

/** The bleed a piece gets on a stock; none on unprinted stock and for unprinted pieces without slots. */
export const bleedOn = (piece: Piece, stock: Stock): number =>
  stock.press && (piece.artwork || piece.slots.length > 0) ? (piece.bleed ?? stock.press.bleed) : 0;

/** Turns that bring the piece's grain along the sheet's: all allowed ones when either has none. */
export const turnsOn = (
  piece: Piece,
  stock: Stock,
  sheet: { readonly width: number; readonly height: number },
): readonly number[] | "any" => {
  if (!piece.grain || !stock.grain) return piece.turns;
  const needed = neededTurns(piece.grain, stock.grain, sheet);
  return piece.turns === "any" ? needed : piece.turns.filter((t) => needed.includes(t));
};

/** A square sheet's long side is taken to stand upright. */
export const neededTurns = (
  piece: NonNullable<Piece["grain"]>,
  stock: NonNullable<Stock["grain"]>,
  { width, height }: { readonly width: number; readonly height: number },
): readonly number[] => {
  const upright = height >= width === (stock === "long");
  return upright === (piece === "vertical") ? [0, 180] : [90, 270];
};
