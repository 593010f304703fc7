// Where artwork ends inside the cut on purpose: there the bleed is paper, and the report says so.
import { stretches, type Stretch } from "./connected.ts";
import type { Printed } from "./printed.ts";
import { count, disc, dilate, intersect, minus, type Runs } from "./runs.ts";

export interface Rim {
  /** Pixels along the cut where bleed is made, and those of them where it is paper. */
  readonly pixels: number;
  readonly paper: number;
  /** Stretches of paper, in the order of their first pixel. */
  readonly stretches: readonly Stretch[];
}

/** @param open beyond the cut, where bleed must be made */
export const rimOf = (body: Runs, open: Runs, { paper }: Printed, strip: Runs, width: number): Rim => {
  const rim = intersect(body, dilate(open, disc(1), width));
  const bare = minus(intersect(rim, paper), strip);
  return { pixels: count(rim), paper: count(bare), stretches: stretches(bare) };
};
