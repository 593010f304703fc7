import type { Box } from "../shapes/ring.ts";
import type { Neighbours } from "./neighbours.ts";
import type { Place } from "./places.ts";

const AROUND = [0, 0, 1, 0, -1, 0, 0, 1, 0, -1, 1, 1, -1, 1, 1, -1, -1, -1];

/** The best place in whole micrometres next to the refined one. */
export const whole = (neighbours: Neighbours, place: Place, inner: Box): void => {
  const { pose } = place;
  const rx = Math.round(place.x);
  const ry = Math.round(place.y);
  let least = Infinity;
  let bx = rx;
  let by = ry;
  for (let k = 0; k < AROUND.length && least > 0; k += 2) {
    const px = rx + AROUND[k];
    const py = ry + AROUND[k + 1];
    if (px < inner.minX || px > inner.maxX || py < inner.minY || py > inner.maxY) continue;
    const l = neighbours.loss(pose, px, py, least);
    if (l < least) {
      least = l;
      bx = px;
      by = py;
    }
    // Only a clear place is worth the neighbours.
    if (place.loss > 0 && k === 0) break;
  }
  place.x = bx;
  place.y = by;
  place.loss = least;
};
