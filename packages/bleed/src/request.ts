import type { Contour, Outline, Rect, Um } from "@kitforme/geometry";
import type { BleedCache } from "./cache.ts";

/** A decoded picture: interleaved device values, rows from the top, no padding. CMYK as amounts of colour (0 = blank). */
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

/** A region whose bleed is wanted: its pixels, its parts and how far the bleed reaches. Drawing space, whole micrometres. */
export interface BleedRequest {
  readonly grid: PixelGrid;
  readonly parts: readonly Outline<"drawing">[];
  /** `grow` of the parts by the bleed. */
  readonly reach: readonly Outline<"drawing">[];
  readonly bleed: Um;
  /** Kind of input, which decides how far inside the contour colour is picked up: `alpha` 0 px (opaque pixels only), `clean`
   * 1 px (anti-aliased against the background), `jpeg` 2 px (also for pictures that were enlarged). */
  readonly source: "alpha" | "clean" | "jpeg";
  /** Whether what the picture shows beyond the outline is drawn bleed, which is kept. `auto`: with alpha, whatever is opaque;
   * without, whatever differs from the background around it. */
  readonly ownBleed: boolean | "auto";
  /** Colour that stops short of the outline by up to this much, µm, is carried out to it and beyond; what ends farther inside ends
   * on purpose, and its bleed is blank. */
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

/** How much of the outline has a blank bleed. Lengths in mm. */
export interface BlankRim {
  /** No colour reaches the outline anywhere, nor is any drawn beyond it. */
  readonly allRound: boolean;
  /** Of the outline where bleed is made, and of it where that is blank. */
  readonly length: number;
  readonly blank: number;
  /** Blank stretches, the longest first: a place in the middle of each. */
  readonly stretches: readonly { readonly at: readonly [x: number, y: number]; readonly length: number }[];
}

/** What was made beyond the outline, and what the picture had drawn there already. */
export interface BleedMade {
  /** Opaque input: the ring, to be drawn under the picture and clipped by `reach`. Neighbours overlap, and all go at least 3
   * pixels under the picture, so that no renderer shows a seam. Empty when nothing had to be made, or when `flattened` is there. */
  readonly tiles: readonly Tile[];
  /** Where the picture itself is shown, on top and untouched (drawing space). With `flattened`: where that is shown. */
  readonly keep: readonly Contour<"drawing">[];
  /** Square µm of the band that the picture had drawn, and that were made. */
  readonly own: number;
  readonly made: number;
  /** Least coloured width really present beyond the outline, µm. */
  readonly least: number;
  /** How far inside the outline, µm, the ring stands in for the picture because its colour stopped short: 0, or the gap. */
  readonly carried: Um;
  /** Where the bleed is blank because the colour ends inside the outline. */
  readonly rim: BlankRim;
  /** Input with alpha: the whole picture made opaque (8 bits, no alpha, blank where nothing is drawn), ring included, cropped
   * to or grown to what `reach` covers. Draw this instead of the picture. */
  readonly flattened?: PixelGrid;
}
