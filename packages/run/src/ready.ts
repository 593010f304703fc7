import type { Finding, Piece } from "@kitforme/kit";
import type { PreparedPiece, SetPicture, SetText } from "@kitforme/prepress";

/** Pieces and words ready for the press. */
export interface Ready {
  /** By `nameOf(piece)`. */
  readonly pieces: ReadonlyMap<string, PreparedPiece>;
  /** Texts of every article, by its id, in the order of the piece's slots. */
  readonly texts: ReadonlyMap<string, readonly SetText[]>;
  /** Pictures of buyers, likewise. */
  readonly pictures: ReadonlyMap<string, readonly SetPicture[]>;
  readonly findings: readonly Finding[];
}

/** The name of a piece among all kits. */
export const nameOf = (piece: Piece): string => `${piece.kit}/${piece.piece}`;
