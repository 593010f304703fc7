import type { Contour, Outline, Rect, Um } from "@kitforme/geometry";
import type { BleedCache } from "./cache.ts";

/** Decoded artwork: interleaved device values, rows from the top, no padding. CMYK as ink amounts (0 = paper). */
export interface PixelGrid {
  readonly width: number;
  readonly height: number;
  /** Values a pixel, alpha included: 1 grey, 2 grey + alpha, 3 RGB, 4 RGB + alpha or CMYK, 5 CMYK + alpha. */
  readonly channels: 1 | 2 | 3 | 4 | 5;
  readonly depth: 8 | 16;
  readonly data: Uint8Array | Uint16Array;
  /** The last channel is straight (not premultiplied) alpha. */
  readonly alpha: boolean;
  /** What the grid covers in drawing µm, may be fractional; the resolution of each axis follows from it. */
  readonly box: Rect;
}

/** A piece whose bleed is wanted: its pixels, its parts and how far the bleed reaches. Drawing space, whole micrometres. */
export interface BleedRequest {
  readonly grid: PixelGrid;
  readonly parts: readonly Outline<"drawing">[];
  /** `grow` of the parts by the bleed. */
  readonly reach: readonly Outline<"drawing">[];
  readonly bleed: Um;
  /** Kind of input, which decides how far inside the contour colour is picked up: `alpha` 0 px (opaque pixels only), `clean`
   * 1 px (anti-aliased against the page), `jpeg` 2 px (also for pictures that were enlarged). */
  readonly source: "alpha" | "clean" | "jpeg";
  /** Whether artwork beyond the outline is the designer's own bleed. `auto`: with alpha, whatever is opaque; without, whatever
   * differs from the page around it. */
  readonly ownBleed: boolean | "auto";
  /** Artwork that stops short of the cut by up to this much is carried out to it and beyond; what ends farther inside ends on
   * purpose, and paper is its bleed. */
  readonly gap: Um;
  readonly spread: "nearest" | "soft";
  readonly cache?: BleedCache;
}

/** A rectangle of ring pixels: 8 bits a channel, the channels of the input less alpha, interleaved, rows from the top. */
export interface Tile {
  readonly box: Rect;
  readonly width: number;
  readonly height: number;
  readonly data: Uint8Array;
}

/** How much of the cut has paper for its bleed. Lengths in mm. */
export interface PaperRim {
  /** No ink reaches the cut anywhere. */
  readonly allRound: boolean;
  /** Of the cut where bleed is made, and of it where that is paper. */
  readonly length: number;
  readonly paper: number;
  /** Stretches of paper, the longest first: a place in the middle of each. */
  readonly stretches: readonly { readonly at: readonly [x: number, y: number]; readonly length: number }[];
}

/** What was made beyond the cut, and what of it the designer had drawn. */
export interface BleedMade {
  /** Opaque input: the ring, to be drawn under the artwork and clipped by `reach`. Neighbours overlap, and all go at least 3
   * pixels under the artwork, so that no renderer shows a seam. Empty when nothing had to be made, or when `flattened` is there. */
  readonly tiles: readonly Tile[];
  /** Where the original artwork is shown, on top and untouched (drawing space). With `flattened`: where that is shown. */
  readonly keep: readonly Contour<"drawing">[];
  /** Square µm of the band that the designer had drawn, and that were made. */
  readonly own: number;
  readonly made: number;
  /** Least coloured width really present beyond the outline, µm. */
  readonly least: number;
  /** How far inside the outline the ring stands in for the artwork because that stopped short: 0, or the gap. */
  readonly carried: Um;
  /** Where the bleed is paper because the artwork ends inside the cut. */
  readonly rim: PaperRim;
  /** Input with alpha: the whole picture made opaque (8 bits, no alpha, paper where nothing is drawn), ring included, cropped
   * to or grown to what `reach` covers. Draw this instead of the artwork. */
  readonly flattened?: PixelGrid;
}
