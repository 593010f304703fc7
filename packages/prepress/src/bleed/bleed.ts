import { boxOf, type Frame, pixels, ringsOf } from "./frame.ts";
import { flattened } from "./flatten.ts";
import { coloursOf, gather } from "./gather.ts";
import type { BleedMade, BleedRequest } from "./request.ts";
import { type Ring, ringOf } from "./ring.ts";
import { soften } from "./soft.ts";
import { tilesOf } from "./tiles.ts";

/**
 * Colour beyond the cut: every pixel of the band around the outline takes the value of the nearest pixel inside, exactly.
 * The designer's own bleed stays, the artwork itself is not touched. Lengths in µm, drawing space.
 * @returns `empty` when no pixel inside the outline hides the paper: there is nothing to take colour from.
 */
export const makeBleed = (request: BleedRequest): BleedMade | { readonly empty: true } => {
  const { frame, ring } = ringOf(request);
  if (!ring) return { empty: true };
  const values = gather(request.grid, ring.from);
  soften(frame, ring, values, pixels(frame, request.bleed));
  const made = request.grid.alpha
    ? { tiles: [], keep: ringsOf(request.reach), flattened: flattened(frame, ring, values) }
    : ring.made === 0
      ? { tiles: [], keep: ringsOf(request.reach) }
      : { tiles: tilesOf(frame, ring, values, coloursOf(request.grid)), keep: ringsOf(request.parts) };
  return { ...made, ...measured(frame, ring, request.bleed) };
};

const measured = (frame: Frame, ring: Ring, bleed: number): Pick<BleedMade, "own" | "made" | "least" | "gaps"> => {
  const pixel = frame.stepX * frame.stepY;
  const width = ring.least * Math.min(frame.stepX, frame.stepY);
  return {
    own: Math.round(ring.own * pixel),
    made: Math.round(ring.made * pixel),
    // From pixel centre inside to pixel centre beyond: never less than the true width, and up to a pixel more. What reaches
    // the bleed asked for is that bleed; what does not is counted from pixel edge to pixel edge.
    least: width >= bleed ? bleed : Math.max(0, Math.round(width - Math.max(frame.stepX, frame.stepY))),
    gaps: ring.gaps.map(({ x, y, pixels }) => {
      const { x: left, y: top } = boxOf(frame, x + 0.5, y + 0.5, 0, 0);
      return { at: [Math.round(left) / 1000, Math.round(top) / 1000] as const, area: (pixels * pixel) / 1e6 };
    }),
  };
};
