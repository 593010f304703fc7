// Which pixels give their colour to the bleed.
//
//   body    S0: pixel centre inside the contour
//   strip   what colour fails to reach at the edge: filled, so no source
//   own     bleed drawn already beyond the contour
//   source  S: body less strip, and own, less the fringe at their edge (half background), plus what that would lose:
//           the residue, parts so thin that nothing of them is left, and the crossed pixels of spikes thinner than a pixel.
//
// Blank is a source like any colour. Measured: a tine of 2 px loses 90 % of its bleed to foreign colours under an inset of
// 1 px, one of 0.5 px half of it with no inset at all; with residue and crossed pixels 0 % is lost at every width from 0.5 to 4 px.
import type { Shown } from "./shown.ts";
import { type PixelRing, crossed } from "./raster.ts";
import { type Brush, block, dilate, disc, intersect, isEmpty, minus, type Runs, union } from "./runs.ts";

/** How far the fringe of each kind of input goes: the colour of anti-aliased edges is pure one pixel in (the four neighbours
 * inside: 0.7 to 1 px by direction), JPEG and enlarged pictures smear two. `thin` is how far from every source a pixel must
 * lie to count as residue: more than a corner of 70 degrees lies from its inset, or the fringe of every corner would come back. */
const FRINGE: Record<"alpha" | "clean" | "jpeg", { readonly inset: Brush; readonly thin: Brush }> = {
  // Transparent surroundings leave no fringe in opaque pixels; a white ground does.
  alpha: { inset: disc(1), thin: disc(4) },
  clean: { inset: disc(1), thin: disc(4) },
  jpeg: { inset: disc(5), thin: disc(13) },
};

export interface Drawn {
  /** The canvas's pixels that the picture has. */
  readonly picture: Runs;
  readonly body: Runs;
  /** Of body: as far from the contour as sources may lie. */
  readonly zone: Runs;
  readonly strip: Runs;
  readonly shown: Shown;
  readonly own: Runs;
  /** Body and band. */
  readonly covered: Runs;
  readonly rings: readonly PixelRing[];
  readonly width: number;
}

/** @param isOpaque those of some pixels of the picture that hide what is beneath */
export const sourcesOf = (drawn: Drawn, kind: "alpha" | "clean" | "jpeg", isOpaque: (set: Runs) => Runs): Runs => {
  const { picture, body, zone, strip, shown, own, covered, rings, width } = drawn;
  const { inset, thin } = FRINGE[kind];
  const body0 = minus(zone, strip);
  let source = union(body0, own);
  // Where the picture itself ends at the contour there is no background beyond, hence no fringe: only pixels that the picture has
  // and nobody drew eat into what is drawn.
  const beside = union(minus(intersect(minus(covered, body), picture), own), intersect(strip, picture));
  const background = kind === "alpha" ? intersect(beside, shown.white) : beside;
  if (!isEmpty(background)) {
    const sound = minus(source, dilate(background, inset, width));
    // Coloured and blank each by itself: a hairline before a blank area would be lost to the blank behind it.
    const lost = (all: Runs): Runs => minus(intersect(body0, all), dilate(intersect(sound, all), thin, width));
    source = union(sound, union(lost(shown.seen), lost(shown.blank)));
  }
  // 1.5 px: farther from every pixel of the body than a pixel's diagonal.
  const spikes = minus(crossed(rings, width, body.rows), dilate(body, block(1), width));
  return isEmpty(spikes) ? source : union(source, isOpaque(intersect(spikes, picture)));
};
