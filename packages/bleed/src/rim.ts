// Where colour ends inside the contour on purpose: there the bleed is blank, and the answer says so.
import { stretches, type Stretch } from "./connected.ts";
import type { Shown } from "./shown.ts";
import { count, disc, dilate, intersect, minus, type Runs } from "./runs.ts";

export interface Rim {
  /** Pixels along the contour where bleed is made, and those of them where it is blank. */
  readonly pixels: number;
  readonly blank: number;
  /** Blank stretches, in the order of their first pixel. */
  readonly stretches: readonly Stretch[];
}

/** @param open beyond the contour, where bleed must be made */
export const rimOf = (body: Runs, open: Runs, { blank }: Shown, strip: Runs, width: number): Rim => {
  const rim = intersect(body, dilate(open, disc(1), width));
  const bare = minus(intersect(rim, blank), strip);
  return { pixels: count(rim), blank: count(bare), stretches: stretches(bare) };
};
