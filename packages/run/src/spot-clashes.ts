import type { Finding, Piece, Shop } from "@kitforme/kit";
import type { PreparedPiece } from "@kitforme/prepress";
import { say } from "./words.ts";

/**
 * Spot inks that two pieces of one stock, or two parts of one piece, mix differently under one name. On one sheet a press
 * would print both from one can, and PDF/X allows one mixture a name and file. Where a press wants one PDF of all its sheets, its
 * stocks share that file.
 */
export const spotClashes = (pieces: Iterable<PreparedPiece>, shop: Shop): Finding[] => {
  const first = new Map<string, { readonly way: string; readonly piece: Piece }>();
  const found: Finding[] = [];
  for (const { piece, spots, back } of pieces) {
    const press = shop.stocks[piece.stock]?.press;
    if (!press) continue;
    const whole = press.files === "whole" || press.files === "both";
    for (const side of [spots, back?.spots])
      for (const [spot, ways] of Object.entries(side ?? {})) {
        const key = JSON.stringify([whole ? "press" : "stock", whole ? press.name : piece.stock, spot]);
        const [way = ""] = ways;
        const known = first.get(key) ?? { way, piece };
        first.set(key, known);
        if (ways.every((one) => one === known.way)) continue;
        const other =
          known.piece === piece
            ? null
            : {
                kit: known.piece.kit,
                piece: known.piece.piece,
                stock: known.piece.stock === piece.stock ? null : known.piece.stock,
              };
        found.push(say("spot-clash", { kit: piece.kit, piece: piece.piece, stock: piece.stock }, { spot, other }));
      }
  }
  return found;
};
