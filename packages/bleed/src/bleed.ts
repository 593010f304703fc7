import { boxOf, type Frame, pixels, ringsOf } from "./frame.ts";
import { flattened } from "./flatten.ts";
import { coloursOf, gather } from "./gather.ts";
import type { BleedMade, BleedRequest, BlankRim } from "./request.ts";
import { type Ring, ringOf } from "./ring.ts";
import { soften } from "./soft.ts";
import { tilesOf } from "./tiles.ts";

/**
 * Colour beyond the outline: every pixel of the band around the outline takes the value of the nearest pixel inside, exactly.
 * Blank is a colour: where the nearest is blank, nothing is made. Bleed that the picture has already stays; the picture itself is
 * not touched but where its colour stops short of the outline by no more than `gap`. Lengths in µm, drawing space.
 * @returns `empty` when nothing is shown inside the outline: there is nothing to take colour from.
 */
export const makeBleed = (request: BleedRequest): BleedMade | { readonly empty: true } => {
  const { frame, ring } = ringOf(request);
  if (!ring) return { empty: true };
  const values = gather(request.grid, ring.from);
  soften(frame, ring, values, pixels(frame, request.bleed));
  const made = request.grid.alpha
    ? { tiles: [], keep: ringsOf(request.reach), flattened: flattened(frame, ring, values) }
    : ring.made === 0 || !ring.shows
      ? { tiles: [], keep: ringsOf(ring.made === 0 ? request.reach : request.parts) }
      : { tiles: tilesOf(frame, ring, values, coloursOf(request.grid)), keep: ringsOf(request.parts) };
  const carried = ring.carried ? request.gap : 0;
  return { ...made, ...measured(frame, ring, request.bleed), carried, rim: rimIn(frame, ring) };
};

const measured = (frame: Frame, ring: Ring, bleed: number): Pick<BleedMade, "own" | "made" | "least"> => {
  const pixel = frame.stepX * frame.stepY;
  const width = ring.least * Math.min(frame.stepX, frame.stepY);
  return {
    own: Math.round(ring.own * pixel),
    made: Math.round(ring.made * pixel),
    // From pixel centre inside to pixel centre beyond: never less than the true width, and up to a pixel more. What reaches
    // the bleed asked for is that bleed; what does not is counted from pixel edge to pixel edge.
    least: width >= bleed ? bleed : Math.max(0, Math.round(width - Math.max(frame.stepX, frame.stepY))),
  };
};

/** Shorter stretches of colour do not make a rim coloured, mm: specks. */
const SPECK = 0.3;

const rimIn = (frame: Frame, { rim, own }: Ring): BlankRim => {
  const pixel = Math.sqrt(frame.stepX * frame.stepY) / 1000;
  const [length, blank] = [rim.pixels * pixel, rim.blank * pixel];
  const stretches = rim.stretches.map(({ x, y, pixels }) => {
    const { x: left, y: top } = boxOf(frame, x + 0.5, y + 0.5, 0, 0);
    return { at: [Math.round(left) / 1000, Math.round(top) / 1000] as const, length: pixels * pixel };
  });
  return {
    // Where the picture has its own bleed, its colour reaches the outline too.
    allRound: rim.blank > 0 && length - blank < SPECK && own * pixel ** 2 < SPECK ** 2,
    length,
    blank,
    stretches: stretches.sort((a, b) => b.length - a.length || a.at[0] - b.at[0] || a.at[1] - b.at[1]),
  };
};
