import type { Contour, Rect } from "@kitforme/geometry";
import type { Artwork } from "@kitforme/kit";
import type { PixelGrid } from "@kitforme/bleed";
import type { Separated } from "../colour/weigh-ink.ts";
import type { Page, Raster } from "../prepared.ts";

export type FileArtwork = Extract<Artwork, { kind: "file" }>;

/** What of the piece is looked at. Drawing space. */
export interface Window {
  /** Pictures are cropped to it, drawings drawn in it. */
  readonly box: Rect;
  /** The cuts in it: where the colour of edges matters. */
  readonly contours: readonly Contour<"drawing">[];
}

/** A picture that has been read, checked and brought to the colours it prints in. */
export interface Opened {
  /** Its pixels within the window, device values (or values of `profile`). The bleed is made from them. */
  readonly grid: PixelGrid;
  readonly space: Raster["space"];
  /** Profile of the grid's values; absent: device values of the press. */
  readonly profile?: Uint8Array;
  /** Only where spot inks stay; in `grid` are the inks that stand for them. */
  readonly separated?: Separated;
  readonly source: "alpha" | "clean" | "jpeg";
  /** The file says itself what of it is bleed: whatever lies beyond the cut is meant. Else it is told by its looks. */
  readonly bled?: true;
  /** The designer's own file, to be shown in place of the grid: passed through or kept as vectors. */
  readonly original?:
    | { readonly kind: "jpeg"; readonly raster: Raster; readonly box: Rect }
    // `many`: it is made of many shapes, one over the other, each of which a clip would smooth by itself.
    | { readonly kind: "page"; readonly page: Page; readonly box: Rect; readonly many?: true };
}
