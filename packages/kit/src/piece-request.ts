import type { ReadFile } from "./file-of.ts";
import type { PieceForm } from "./forms/kit-form.ts";
import type { Piece } from "./kit.ts";
import type { Finding } from "./problem.ts";

/** A piece as kit.json asks for it. `field`: where it stands there. Plain data, so that it can cross to another process. */
export interface PieceRequest {
  readonly form: PieceForm;
  readonly kit: { readonly name: string; readonly fonts: readonly string[] };
  readonly field: string;
}

/** `piece` is absent when there is no drawing; it may be there beside errors. */
export interface PieceRead {
  readonly piece?: Piece;
  readonly findings: readonly Finding[];
}

/** Opens one piece of a kit: here, or wherever the caller wants strangers' drawings to be opened. */
export type OpenPiece = (request: PieceRequest, read: ReadFile) => Promise<PieceRead>;
