import type { Box } from "../shapes/ring.ts";
import type { Neighbours } from "./neighbours.ts";
import type { Place } from "./places.ts";

/** Lines followed to a place that just touches. */
const SNAPS = 5;
/** Sine of an angle below which two lines are taken for parallel: their meeting point is far away or nowhere. */
const PARALLEL = 0.02;

/**
 * Places that just touch, next to the refined one: steps come near an exact fit but never upon it. From overlap to
 * overlap, the deepest first, to the line on which it ends, and to where that line meets the one before or the edge of
 * where the piece may lie. Nothing deeper than `most` is gone after, nor farther than that.
 */
export const snap = (neighbours: Neighbours, place: Place, inner: Box, most: number): void => {
  const { pose } = place;
  const way = neighbours.exit;
  const fromX = place.x;
  const fromY = place.y;
  let px = fromX;
  let py = fromY;
  // The line before: points p with lx * px + ly * py = at.
  let lx = 0;
  let ly = 0;
  let at = 0;
  for (let step = 0; step < SNAPS && neighbours.wayOut(pose, px, py, most); step++) {
    const length = Math.hypot(way[0], way[1]);
    if (length === 0) return;
    const nx = way[0] / length;
    const ny = way[1] / length;
    const offset = nx * px + ny * py + length;
    const cross = lx * ny - ly * nx;
    const meet = Math.abs(cross) > PARALLEL;
    let tx = meet ? (at * ny - ly * offset) / cross : px + nx * length;
    let ty = meet ? (lx * offset - at * nx) / cross : py + ny * length;
    lx = nx;
    ly = ny;
    at = offset;
    // Beyond the edge: along the line back to it.
    if (tx < inner.minX || tx > inner.maxX) {
      tx = tx < inner.minX ? inner.minX : inner.maxX;
      if (Math.abs(ny) > PARALLEL) ty = (offset - nx * tx) / ny;
    }
    if (ty < inner.minY || ty > inner.maxY) {
      ty = ty < inner.minY ? inner.minY : inner.maxY;
      if (Math.abs(nx) > PARALLEL) tx = (offset - ny * ty) / nx;
      if (tx < inner.minX || tx > inner.maxX) return;
    }
    if (Math.abs(tx - fromX) > most || Math.abs(ty - fromY) > most) return;
    px = tx;
    py = ty;
    const loss = neighbours.loss(pose, px, py, place.loss);
    if (loss < place.loss) {
      place.x = px;
      place.y = py;
      place.loss = loss;
      if (loss === 0) return;
    }
  }
};
