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
 * inside: 0.7 to 1 px by direction), JPEG and enlarged pictures smear two. */
const FRINGE: Record<"alpha" | "clean" | "jpeg", Brush | null> = {
  alpha: null,
  clean: disc(1),
  jpeg: disc(4),
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
  const brush = FRINGE[kind];
  let source = union(solid, own);
  if (brush) {
    // Where the picture itself ends at the contour there is no page beyond, hence no fringe: only pixels that the picture has
    // and nobody drew eat into the artwork.
    source = minus(source, dilate(minus(intersect(covered, picture), source), brush, width));
    const residue = minus(solid, dilate(source, disc(4), width));
    source = union(source, residue);
  }
  // 1.5 px: farther from every pixel of the body than a pixel's diagonal.
  const lost = minus(crossed(rings, width, body.rows), dilate(body, block(1), width));
  return isEmpty(lost) ? source : union(source, isOpaque(intersect(lost, picture)));
};
