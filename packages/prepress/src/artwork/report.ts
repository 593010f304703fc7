import type { Finding, Level, Piece, Place } from "@kitforme/kit";
import { type ArtworkFacts, sayArtwork } from "../words/artwork-words.ts";

/** Everything that can be wrong with a picture. A rule is a name for programs; its words are made where it is met. */
export type ArtworkRule =
  /** Damaged, truncated, or not what its name says. */
  | "artwork-unreadable"
  /** Nothing of it lies where the piece is. */
  | "artwork-blank"
  /** More pixels than we open. */
  | "artwork-oversized"
  /** A PDF behind a password or with permissions. */
  | "artwork-encrypted"
  | "artwork-missing-page"
  /** Only the first page is printed. */
  | "artwork-more-pages"
  | "artwork-hidden-layers"
  /** Names a file or address beside itself. */
  | "artwork-external-reference"
  /** Letters that are set with whatever fonts the machine has. */
  | "artwork-live-text"
  /** Stretched on one axis. */
  | "artwork-stretched"
  /** Paper inside the outline. */
  | "artwork-short"
  /** A PDF page that had to be turned into pixels. */
  | "artwork-rastered"
  | "resolution-low";

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
  readonly add: (
    level: Level,
    rule: ArtworkRule,
    message: string,
    hint: string,
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
    add: (level, rule, message, hint, at) => {
      findings.push({ level, rule, where: at ? { ...place, at } : place, message, hint });
    },
  };
};
