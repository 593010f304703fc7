import { type Finding, type Piece, say, type Shop } from "@kitforme/kit";
import { type Effort, homeless } from "@kitforme/layout";
import type { PreparedPiece } from "@kitforme/prepress";
import { bothSides, fieldOf } from "@kitforme/sheet";
import { footprintOf } from "./footprint-of.ts";

/** Pieces that fit between the margins of a sheet, but for which marks, code and slug leave no place: the layout's own word. */
export const obstructed = (pieces: Iterable<PreparedPiece>, shop: Shop, effort: Effort): Finding[] => {
  const byStock = new Map<string, PreparedPiece[]>();
  for (const prepared of pieces) {
    const { stock } = prepared.piece;
    byStock.set(stock, [...(byStock.get(stock) ?? []), prepared]);
  }
  return [...byStock].flatMap(([name, own]) => {
    const stock = shop.stocks[name];
    if (!stock) return [];
    const turned = own.some(({ piece }) => piece.back);
    const fields = stock.sheets.map((size) => fieldOf(turned ? bothSides(stock, size) : stock, size));
    const out = homeless({ footprints: own.map(footprintOf), fields, effort });
    return out.map((f) => sayObstructed((own[f] as PreparedPiece).piece));
  });
};

export const sayObstructed = ({ kit, piece, stock }: Piece): Finding =>
  say("piece-obstructed", { kit, piece, stock }, { stock });
