import { type Across, BEYOND, INSIDE } from "./line-across.ts";

/** When colours on a line count as changing at the cut. */
export interface Limits {
  /** What one step of each value of a colour is worth. */
  readonly steps: Float64Array;
  /** Least distance between the colours inside and beyond. */
  readonly least: number;
  /** Share of the change by which a colour may stray from its mean, and that may lie outside the sharp width, on either side. */
  readonly stray: number;
}

/**
 * CIE L*a*b* in 8 bits. A difference (CIE 1976) of less is not seen in a line half a millimetre wide; a quarter of the change is
 * more than the noise of a photograph and less than a gradient has (common practice, no source).
 */
export const LAB: Limits = { steps: Float64Array.of(1 / 2.55, 1, 1), least: 12, stray: 0.25 };

/** Device values, looser: what counts in L*a*b* counts in them, and most of what does not does not. */
export const deviceLimits = (colours: number): Limits => ({
  steps: new Float64Array(colours).fill(1),
  least: 10,
  stray: 0.45,
});

/** Width, to each side, within which a change is sharp: so many µm or pixels, whichever is more. */
const SHARP = 150;
const SHARP_PIXELS = 2;

/** The mean colour of the depths from `first` to `end`. */
const meanOf = (values: Uint8Array, first: number, end: number, steps: Float64Array): Float64Array => {
  const mean = new Float64Array(steps.length);
  for (let c = 0; c < steps.length; c++) {
    let sum = 0;
    for (let i = first; i < end; i++) sum += values[i * steps.length + c] as number;
    mean[c] = (sum / (end - first)) * (steps[c] as number);
  }
  return mean;
};

/** The farthest that a colour of the depths from `first` to `end` lies from a mean. */
const strayOf = (values: Uint8Array, first: number, end: number, mean: Float64Array, steps: Float64Array): number => {
  let most = 0;
  for (let i = first; i < end; i++) {
    let sum = 0;
    for (let c = 0; c < steps.length; c++)
      sum += ((values[i * steps.length + c] as number) * (steps[c] as number) - (mean[c] as number)) ** 2;
    if (sum > most) most = sum;
  }
  return Math.sqrt(most);
};

/**
 * The change of colour on one line across the cut, where there is one: steady colours on both sides, more than a little apart,
 * and all of the change in one place near the cut.
 *
 * @param values the line's colours, 8 bits each
 * @returns how far beyond the cut it lies, µm; negative inside
 */
export const changeAcross = (
  values: Uint8Array,
  { depths, pixel, inner, outer }: Across,
  { steps, least, stray }: Limits,
): number | undefined => {
  const inside = meanOf(values, 0, inner, steps);
  const beyond = meanOf(values, outer, depths.length, steps);
  let square = 0;
  for (let c = 0; c < steps.length; c++) square += ((beyond[c] as number) - (inside[c] as number)) ** 2;
  const most = stray * Math.sqrt(square);
  if (square < least ** 2) return undefined;
  if (strayOf(values, 0, inner, inside, steps) > most) return undefined;
  if (strayOf(values, outer, depths.length, beyond, steps) > most) return undefined;

  // How much of the change is done at each depth, from 0 to 1.
  const done = depths.map((_, i) => {
    let along = 0;
    for (let c = 0; c < steps.length; c++) {
      const here = (values[i * steps.length + c] as number) * (steps[c] as number) - (inside[c] as number);
      along += ((beyond[c] as number) - (inside[c] as number)) * here;
    }
    return along / square;
  });
  const after = done.findIndex((share) => share >= 0.5);
  if (after < 1) return undefined;
  const [before, at] = [done[after - 1] as number, done[after] as number];
  const [a, b] = [depths[after - 1] as number, depths[after] as number];
  const off = a + ((0.5 - before) / (at - before)) * (b - a);
  if (off < -INSIDE || off > BEYOND) return undefined;
  const sharp = Math.max(SHARP, SHARP_PIXELS * pixel);
  const gone = depths.every((depth, i) => {
    const share = done[i] as number;
    return depth < off - sharp ? share <= stray : depth <= off + sharp || share >= 1 - stray;
  });
  return gone ? off : undefined;
};
