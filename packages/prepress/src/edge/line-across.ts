import type { PixelGrid } from "@kitforme/bleed";
import type { PrintedAt } from "./printed-at.ts";
import type { Station } from "./walk-cut.ts";

/** Colours are read at steps of so many µm across the cut. */
const STEP = 100;
/**
 * A colour may change this far inside the cut, µm, and still counts as changing at it: what artwork may stop short of the cut by. And
 * so far beyond: half a millimetre, by which a cut is often off (common practice, no source), and what pixels make of it.
 */
export const [INSIDE, BEYOND] = [300, 600] as const;
/** Width, µm, over which the colour inside and beyond must be steady. */
const STEADY_WIDTH = 250;
/** Nearer to the cut than this, µm, the line meets that cut alone, whatever its edge is rounded to. */
const OWN = 2 * STEP;
/** Pixels over which an edge is smoothed. */
const SMOOTHED = 1.2;

/** The line across the cut on which colours are read. Lengths in µm, negative inside the cut. */
export interface Across {
  readonly colours: number;
  /** Side of a pixel. */
  readonly pixel: number;
  readonly depths: readonly number[];
  /** Depths before `inner` are inside and clear of any edge that is smoothed near the cut, those from `outer` on beyond. */
  readonly inner: number;
  readonly outer: number;
  /** The middles of both stretches. */
  readonly middles: readonly [inside: number, beyond: number];
}

/** The line for a picture; undefined where the bleed is too narrow to compare. */
export const acrossOf = ({ box, width, height, channels, alpha }: PixelGrid, bleed: number): Across | undefined => {
  const pixel = Math.max(box.width / width, box.height / height);
  const [inward, outward] = [INSIDE + SMOOTHED * pixel, BEYOND + SMOOTHED * pixel];
  const far = outward + STEADY_WIDTH;
  if (bleed < outward + STEP) return undefined;
  // Half a step beside the cut, where pixels often meet.
  const count = Math.ceil(far / STEP);
  const depths = Array.from({ length: 2 * count }, (_, i) => (i - count + 0.5) * STEP).filter(
    (depth) => depth >= -inward - STEADY_WIDTH && depth <= bleed,
  );
  return {
    colours: channels - (alpha ? 1 : 0),
    pixel,
    depths,
    inner: depths.findIndex((depth) => depth > -inward),
    outer: depths.findIndex((depth) => depth >= outward),
    middles: [-inward - STEADY_WIDTH / 2, (outward + Math.min(far, bleed)) / 2],
  };
};

/** Writes the values on the line at a station; false where the picture ends. */
export const readAcross = (
  { x, y, outX, outY }: Station,
  { depths, colours }: Across,
  read: PrintedAt,
  into: Uint8Array,
): boolean => {
  for (let i = 0; i < depths.length; i++) {
    const depth = depths[i] as number;
    if (!read(x + depth * outX, y + depth * outY, depth > 0, into, i * colours)) return false;
  }
  return true;
};

/** Whether the line meets no other edge of the piece. */
export const isClear = (
  { x, y, outX, outY }: Station,
  { depths }: Across,
  inside: (x: number, y: number) => boolean,
): boolean =>
  depths.every((depth) => Math.abs(depth) < OWN || inside(x + depth * outX, y + depth * outY) === depth < 0);
