import type { Contour, Outline, Rect, Um } from "@kitforme/geometry";
import type { Finding, Piece } from "@kitforme/kit";
import type { CoverMap, InkMap } from "./colour/weigh-ink.ts";

/** Ink of vector shapes, shares from 0 to 1. */
export type Ink =
  | { readonly space: "cmyk"; readonly c: number; readonly m: number; readonly y: number; readonly k: number }
  | { readonly space: "rgb"; readonly r: number; readonly g: number; readonly b: number }
  | { readonly space: "grey"; readonly g: number };

/** Text and lines of our own: the black ink alone. */
export const BLACK: Ink = { space: "cmyk", c: 0, m: 0, y: 0, k: 1 };

/** A picture ready to be embedded. `id` is a hash of all it is made of: equal ids are embedded once. */
export interface Raster {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  readonly space: "grey" | "rgb" | "cmyk";
  /** ICC profile the values are in; absent: device values of the press. */
  readonly profile?: Uint8Array;
  /** `raw`: 8 bits a channel, rows from the top, no padding, cmyk as ink amounts. `jpeg`: the designer's file, passed through;
   * `inverted`: its CMYK values are stored inverted (Adobe marker). */
  readonly data: { readonly kind: "raw" | "jpeg"; readonly bytes: Uint8Array; readonly inverted?: boolean };
}

/** A page of a PDF that stays vectors. */
export interface Page {
  readonly id: string;
  readonly bytes: Uint8Array;
  /** Page number from 0. */
  readonly index: number;
  /** Absent: none. */
  readonly spots?: Spots;
}

/** One layer of a prepared picture, drawn bottom to top. `box` (drawing space, may be fractional) is what it fills; `clip` limits it. */
export type Layer =
  | {
      readonly kind: "raster";
      readonly raster: Raster;
      readonly box: Rect;
      readonly clip: readonly Contour<"drawing">[] | null;
    }
  | {
      readonly kind: "page";
      readonly page: Page;
      readonly box: Rect;
      readonly clip: readonly Contour<"drawing">[] | null;
    };

/** What was found and made around one piece: the base of the tolerance statement. Micrometres. */
export interface BleedFound {
  /** Bleed asked for. */
  readonly wanted: number;
  /** Least width of coloured paper beyond the outline that is really there, designer's own plus made. */
  readonly least: number;
  /** Square micrometres of the band that the designer had drawn, and that were made. */
  readonly own: number;
  readonly made: number;
}

/** Spot inks by name, each with every way it is mixed (see mixture.ts). */
export type Spots = Readonly<Record<string, readonly string[]>>;

/** What one side of a piece prints, without its texts. */
export interface Face {
  readonly layers: readonly Layer[];
  /** Of the pages among the layers; absent: none. */
  readonly spots?: Spots;
  /** Of the layers, where they are inks. */
  readonly ink?: InkMap;
  readonly bleed: BleedFound | null;
}

/** The reverse. It prints behind the front's own places: with `mirror`, x of its layers is `mirror` less x of the drawing. */
export interface BackFace extends Face {
  readonly mirror?: Um;
}

/** A piece ready for press, without its texts. */
export interface PreparedPiece extends Face {
  readonly piece: Piece;
  /** All that ink may cover on either side: the outline grown by the bleed, openings shrunk; equals `piece.parts` for unprinted pieces. */
  readonly reach: readonly Outline<"drawing">[];
  /** Of pieces with a back. */
  readonly back?: BackFace;
}

/** A text set into its slot: closed outlines, nonzero filled, in drawing space (floats, micrometres, y down). */
export interface SetText {
  readonly slot: string;
  /** It prints on the reverse, and is drawn mirrored here, where it lies behind the front. */
  readonly side?: "back";
  readonly text: string;
  /** Points. */
  readonly size: number;
  readonly ink: Ink;
  /** SVG path data in micrometres of the drawing: absolute M L C Q Z only. */
  readonly outlines: string;
  /** Bounds of the ink. */
  readonly box: Rect;
  /** A line drawn around the letters beneath them, so wide beyond them; its corners are round. */
  readonly rim?: { readonly ink: Ink; readonly width: Um };
  /** What is filled before the rest: the blank paper that a code needs. */
  readonly ground?: { readonly ink: Ink; readonly outlines: string };
}

/** A picture of the buyer's in its slot: drawn over the artwork and under every text. */
export interface SetPicture {
  readonly slot: string;
  /** As of a text. */
  readonly side?: "back";
  /** The file it came from. */
  readonly file: string;
  readonly layer: Layer;
  /** Of its pixels, where they are inks. */
  readonly ink?: CoverMap;
}

/** Something made ready for press; `value` is absent when an error stands among the findings. */
export interface Prepared<T> {
  readonly value?: T;
  readonly findings: readonly Finding[];
}
