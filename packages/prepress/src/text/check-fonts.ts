import type { Finding, Piece } from "@kitforme/kit";
import { readTypefaces } from "./read-typefaces.ts";
import { sayAt } from "./words.ts";

/** What is wrong with the fonts of a piece's slots, whatever they will be asked to set. */
export const checkFonts = async (piece: Piece): Promise<readonly Finding[]> => {
  const slots = await Promise.all(
    piece.slots.flatMap((slot) =>
      slot.kind === "text" ? [readTypefaces(slot, sayAt({ kit: piece.kit, piece: piece.piece, slot: slot.slot }))] : [],
    ),
  );
  return slots.flatMap(({ findings }) => findings);
};
