import type { Um } from "@kitforme/geometry";
import type { BuyersPicture, Finding, Piece, PieceRequest, Press } from "@kitforme/kit";
import type { Layer, PreparedPiece, Prepared, SetPicture, SetText, TextInks } from "@kitforme/prepress";
import type { Ref } from "@kitforme/threads";

/** Argument of an opening process that is started ahead of its tasks: the first of them is to read a drawing. */
export const READS_FIRST = "--reads-first";

/** A piece whose pictures and fonts lie in the spool. */
export interface SpooledPiece {
  /** The SVG text, bytes of artwork and fonts in it are empty. */
  readonly piece: Piece;
  readonly artwork: Ref | undefined;
  /** Artwork of the reverse, on the way from the process that read the piece; a task has one side. */
  readonly back?: Ref;
  /** Per slot, per font. */
  readonly fonts: readonly (readonly Ref[])[];
}

/** Where the bytes of a layer lie. */
export interface SpooledLayer {
  /** Its bytes are empty. */
  readonly layer: Layer;
  readonly bytes: Ref;
  readonly profile: Ref | undefined;
}

/** A piece ready for press, less the piece itself, which is with who asked. */
export type SpooledPrepared = Omit<PreparedPiece, "piece" | "layers"> & { readonly layers: readonly SpooledLayer[] };

/** One text of a piece. Inks are of the press. */
export interface TextWanted {
  /** Index of the slot. */
  readonly slot: number;
  readonly text: string;
  readonly inks: TextInks;
  /** How far it stays from lines, in place of the slot's own. */
  readonly safe?: Um;
}

/** What of a prepared piece is wanted: all of it, what is found, or the ink that lies on it. */
export type Want = "all" | "findings" | "ink";

/** What a process is asked to do with things from outside. */
export type Task =
  | { readonly do: "open"; readonly request: PieceRequest }
  | { readonly do: "assembly"; readonly kit: string; readonly file: string; readonly bytes: Ref }
  | { readonly do: "prepare"; readonly piece: SpooledPiece; readonly press: Press; readonly want: Want }
  | { readonly do: "fonts"; readonly piece: SpooledPiece }
  | { readonly do: "texts"; readonly piece: SpooledPiece; readonly texts: readonly TextWanted[] }
  | {
      readonly do: "picture";
      readonly piece: SpooledPiece;
      readonly press: Press;
      readonly slot: number;
      readonly picture: BuyersPicture;
      readonly bytes: Ref;
    };

/** What it answers. */
export interface Answers {
  readonly open: { readonly piece?: SpooledPiece; readonly findings: readonly Finding[] };
  readonly assembly: { readonly pages?: readonly Ref[]; readonly findings: readonly Finding[] };
  readonly prepare: { readonly value?: SpooledPrepared; readonly findings: readonly Finding[] };
  readonly fonts: readonly Finding[];
  readonly texts: readonly Prepared<SetText>[];
  readonly picture: Prepared<Omit<SetPicture, "layer"> & { readonly layer: SpooledLayer }>;
}

/** What it asks on the way: a file of the kit. Answered with its place, or nothing when there is none. */
export interface FileWanted {
  readonly path: string;
}
