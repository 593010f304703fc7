import { bounds, crossings, touches } from "@kitforme/geometry";
import { doubledLines } from "../doubled.ts";
import { placeOf } from "../numbers.ts";
import { type Check, ringsFor } from "./check.ts";

/**
 * Cutting contours lie apart or inside each other. Rings that share a stretch weave through each other by the micrometre of
 * rounding; these `line-doubled` has reported already, as an error.
 */
export const contoursCross: Check = (piece, report) => {
  const rings = ringsFor(piece).map((ring) => ({ ring, box: bounds(ring) }));
  for (const [i, a] of rings.entries())
    for (const b of rings.slice(i + 1)) {
      if (!touches(a.box, b.box)) continue;
      const places = crossings(a.ring, b.ring);
      const [first] = places;
      if (!first) continue;
      const pair = [a, b].map(({ ring }) => ({ operation: "cutting", closed: true, points: ring }) as const);
      if (doubledLines(pair).length === 0)
        report.say("contours-cross", { times: places.length }, { operation: "cutting", at: placeOf(first) });
    }
};
