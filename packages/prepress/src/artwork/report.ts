import type { Finding, Piece, Place } from "@kitforme/kit";
import { type ArtworkFacts, sayArtwork } from "../words/artwork-words.ts";

/** Where the findings about one piece's picture are gathered. `at`: mm in drawing coordinates. */
export interface Report {
  /** The piece and its file. */
  readonly where: Place;
  readonly findings: Finding[];
  /** A finding in the words of its rule. */
  readonly say: <R extends keyof ArtworkFacts>(
    rule: R,
    facts: ArtworkFacts[R],
    at?: readonly [x: number, y: number],
  ) => void;
}

export const reportOn = (piece: Pick<Piece, "kit" | "piece" | "stock">, file?: string): Report => {
  const findings: Finding[] = [];
  const place = { kit: piece.kit, piece: piece.piece, stock: piece.stock, ...(file === undefined ? {} : { file }) };
  return {
    where: place,
    findings,
    say: (rule, facts, at) => {
      findings.push(sayArtwork(rule, at ? { ...place, at } : place, facts));
    },
  };
};
