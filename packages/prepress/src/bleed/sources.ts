// Which pixels give their colour to the bleed.
//
//   body    S0: pixel centre inside the contour
//   own     the designer's own bleed beyond it
//   source  S: body and own less the fringe at their edge (half page, half artwork), plus what that would lose:
//           the residue, parts so thin that nothing of them is left, and the crossed pixels of spikes thinner than a pixel.
//
// Measured: a tine of 2 px loses 90 % of its bleed to foreign colours under an inset of 1 px, one of 0.5 px half of it with no
// inset at all; with residue and crossed pixels 0 % is lost at every width from 0.5 to 4 px.
import { type PixelRing, crossed } from "./raster.ts";
import { type Brush, block, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";

/** How far the fringe of each kind of input goes: the colour of anti-aliased edges is pure one pixel in (the four neighbours
 * inside: 0.7 to 1 px by direction), JPEG and enlarged pictures smear two. `thin` is how far from every source a pixel must
 * lie to count as residue: more than a corner of 70 degrees lies from its inset, or the fringe of every corner would come back. */
const FRINGE: Record<"alpha" | "clean" | "jpeg", { readonly inset: Brush; readonly thin: Brush } | null> = {
  alpha: null,
  clean: { inset: disc(1), thin: disc(4) },
  jpeg: { inset: disc(5), thin: disc(13) },
};

export interface Drawn {
  /** The canvas's pixels that the picture has. */
  readonly picture: Runs;
  readonly body: Runs;
  /** Of body: hides the paper. */
  readonly solid: Runs;
  readonly own: Runs;
  /** Body and band. */
  readonly covered: Runs;
  readonly rings: readonly PixelRing[];
  readonly width: number;
}

/** @returns a subset of solid and own, plus pixels that the contour crosses. */
export const sourcesOf = (drawn: Drawn, kind: "alpha" | "clean" | "jpeg", isOpaque: (set: Runs) => Runs): Runs => {
  const { picture, body, solid, own, covered, rings, width } = drawn;
  const fringe = FRINGE[kind];
  let source = union(solid, own);
  if (fringe) {
    // Where the picture itself ends at the contour there is no page beyond, hence no fringe: only pixels that the picture has
    // and nobody drew eat into the artwork.
    source = minus(source, dilate(minus(intersect(covered, picture), source), fringe.inset, width));
    const residue = minus(solid, dilate(source, fringe.thin, width));
    source = union(source, residue);
  }
  // 1.5 px: farther from every pixel of the body than a pixel's diagonal.
  const lost = minus(crossed(rings, width, body.rows), dilate(body, block(1), width));
  return isEmpty(lost) ? source : union(source, isOpaque(intersect(lost, picture)));
};
