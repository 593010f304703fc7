import type { DepthMap } from "./depth.ts";

/** Lines of contact, ax ay bx by: the segments moved outward by the clearance, on which the shapes just keep clear. */
export const contactsOf = (map: DepthMap): Float64Array => {
  const { ends, slit, clearance } = map;
  const out = new Float64Array(ends.length);
  for (let s = 0; s < slit.length; s++) {
    const ax = ends[4 * s];
    const ay = ends[4 * s + 1];
    const bx = ends[4 * s + 2];
    const by = ends[4 * s + 3];
    const reach = slit[s] === 1 ? 0 : clearance / Math.hypot(bx - ax, by - ay);
    const ox = (by - ay) * reach;
    const oy = (ax - bx) * reach;
    out[4 * s] = ax + ox;
    out[4 * s + 1] = ay + oy;
    out[4 * s + 2] = bx + ox;
    out[4 * s + 3] = by + oy;
  }
  return out;
};
