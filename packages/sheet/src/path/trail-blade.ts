import type { Path, Point, Um } from "@kitforme/geometry";

/** A direction, of length 1. */
export interface Heading {
  readonly x: number;
  readonly y: number;
}

/** The axis swings about the standing tip in steps of no more: chords of the swing then lie 0.4 % of the offset inside it. */
const STEP = (10 * Math.PI) / 180;

/**
 * The way of a trailing blade's axis for its tip to follow a line. The tip hangs `offset` behind the axis and turns after it,
 * so the axis runs ahead by the offset; at every bend it swings about the tip, which stands still meanwhile, from the old
 * heading to the new. So also at the beginning, from the heading that the blade was left with.
 *
 *        axis:   o------->o
 *                         |\      swing about the corner
 *        tip:  ----------+  o
 *                        |  |
 *
 * @param tip the designer's line, at least two points
 * @returns the axis's way in whole micrometres, and the heading the blade is left with
 */
export const trailBlade = (
  tip: Path<"sheet">,
  offset: Um,
  heading: Heading,
): { readonly path: Path<"sheet">; readonly heading: Heading } => {
  const path: Point<"sheet">[] = [];
  const to = (p: Point, h: Heading): void => {
    const [x, y] = [Math.round(p.x + offset * h.x) + 0, Math.round(p.y + offset * h.y) + 0];
    const last = path.at(-1);
    if (!last || last.x !== x || last.y !== y) path.push({ x, y });
  };
  let h = heading;
  to(tip[0] as Point, h);
  for (let i = 1; i < tip.length; i++) {
    const [p, q] = [tip[i - 1] as Point, tip[i] as Point];
    const length = Math.hypot(q.x - p.x, q.y - p.y);
    if (length === 0) continue;
    const next: Heading = { x: (q.x - p.x) / length, y: (q.y - p.y) / length };
    const turn = Math.atan2(h.x * next.y - h.y * next.x, h.x * next.x + h.y * next.y);
    const steps = Math.max(1, Math.ceil(Math.abs(turn) / STEP));
    for (let k = 1; k <= steps; k++) {
      const [c, s] = [Math.cos((turn * k) / steps), Math.sin((turn * k) / steps)];
      to(p, k === steps ? next : { x: h.x * c - h.y * s, y: h.x * s + h.y * c });
    }
    to(q, next);
    h = next;
  }
  return { path, heading: h };
};
