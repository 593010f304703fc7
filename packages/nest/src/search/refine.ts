import type { Box } from "../shapes/ring.ts";
import type { Dice } from "./dice.ts";
import type { Neighbours } from "./neighbours.ts";
import type { Place } from "./places.ts";

/** Steps along an axis or a diagonal, longer on success, half on failure, until steps are shorter than `stop`. */
export const refine = (
  neighbours: Neighbours,
  place: Place,
  inner: Box,
  dice: Dice,
  start: number,
  stop: number,
): void => {
  const { pose } = place;
  let bx = place.x;
  let by = place.y;
  let bl = place.loss;
  let sx = start;
  let sy = start;
  let axis = dice.below(4);
  while (bl > 0 && (axis === 0 ? sx : axis === 1 ? sy : Math.max(sx, sy)) > stop) {
    const dx = axis === 1 ? 0 : sx;
    const dy = axis === 0 ? 0 : axis === 3 ? -sy : sy;
    let px = bx + dx;
    let py = by + dy;
    px = px < inner.minX ? inner.minX : px > inner.maxX ? inner.maxX : px;
    py = py < inner.minY ? inner.minY : py > inner.maxY ? inner.maxY : py;
    const plus = neighbours.loss(pose, px, py, bl);
    let qx = bx - dx;
    let qy = by - dy;
    qx = qx < inner.minX ? inner.minX : qx > inner.maxX ? inner.maxX : qx;
    qy = qy < inner.minY ? inner.minY : qy > inner.maxY ? inner.maxY : qy;
    const minus = neighbours.loss(pose, qx, qy, plus < bl ? plus : bl);
    let factor: number;
    if (plus < bl || minus < bl) {
      if (minus < plus) {
        bx = qx;
        by = qy;
        bl = minus;
      } else {
        bx = px;
        by = py;
        bl = plus;
      }
      factor = 1.1;
    } else factor = 0.5;
    if (axis === 0) sx *= factor;
    else if (axis === 1) sy *= factor;
    else {
      const root = factor > 1 ? 1.0488 : 0.7071;
      sx *= root;
      sy *= root;
    }
    if (factor < 1) axis = dice.below(4);
  }
  place.x = bx;
  place.y = by;
  place.loss = bl;
};
