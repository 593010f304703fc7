// Paper inside the outline. Artwork that stops a little short is drawn up to the contour; a wider strip is the designer's
// business and is reported. White that does not meet the contour is a design, and nobody touches it.
import { type Patch, patches, reaching } from "./connected.ts";
import { dilate, disc, intersect, isEmpty, minus, type Runs, rectangle } from "./runs.ts";

export interface Gaps {
  /** Body pixels to be filled. */
  readonly small: Runs;
  /** Body pixels that stay paper. */
  readonly left: Runs;
  /** Those of `left` that meet the contour. */
  readonly wide: readonly Patch[];
}

/** @param most pixels from the contour to which a gap is filled */
export const gapsOf = (body: Runs, solid: Runs, most: number, width: number): Gaps => {
  const bare = minus(body, solid);
  if (isEmpty(bare)) return { small: bare, left: bare, wide: [] };
  const outside = minus(rectangle(body.rows, 0, 0, width, body.rows), body);
  const deep = minus(bare, dilate(outside, disc(most * most), width));
  // Giving the deep part its rim back keeps a wide gap whole: half filled it would look worse than white.
  const large = intersect(bare, dilate(deep, disc((most + 1) ** 2), width));
  const rim = dilate(outside, disc(2), width);
  const slim = minus(bare, large);
  const small = reaching(slim, intersect(slim, rim));
  return { small, left: minus(bare, small), wide: patches(reaching(large, intersect(large, rim))) };
};
