import type { Rect } from "@kitforme/geometry";
import { fromPoints } from "@kitforme/geometry";
import type { Slot } from "@kitforme/kit";
import type { ShapedLine } from "./shape.ts";
import type { Typeface } from "./typeface.ts";

/** Type sizes are taken from this ladder, so that a hair more of room does not give an odd size. Points. */
const STEP = 0.25;

/** What a line needs of its box, each in em. */
export interface Needs {
  /** From the leftmost of pen and ink to the rightmost. */
  readonly left: number;
  readonly width: number;
  /** Where the baseline lies below the box's middle: the same for every text, so that names with and without descenders align. */
  readonly drop: number;
  /** Box height that keeps the ink inside, with the baseline there. */
  readonly inkHeight: number;
  /** Box height that keeps the font's own ascent and descent inside. */
  readonly fontHeight: number;
}

export const needsOf = (line: ShapedLine, lead: Typeface): Needs => {
  const { left, right, bottom, top } = line.ink ?? { left: 0, right: 0, bottom: 0, top: 0 };
  const start = Math.min(0, left);
  const drop = (lead.ascent - lead.descent) / 2;
  return {
    left: start,
    width: Math.max(line.advance, right) - start,
    drop,
    inkHeight: 2 * Math.max(top - drop, drop - bottom),
    fontHeight: lead.ascent + lead.descent,
  };
};

/**
 * The largest size of the ladder, from `size` down to `leastSize`, at which the line fits its box. Ink and pen must fit.
 * The font's ascent and descent should, so that all names of a slot get one size whatever letters they have; but some
 * fonts keep far more than they ink (2.1 em for an Arabic one), so for them alone a text is never refused.
 * `null` when even `leastSize` is too large. Points.
 */
export const fitSize = (needs: Needs, slot: Slot): number | null => {
  const points = (um: number, em: number): number => (em <= 0 ? Number.POSITIVE_INFINITY : um / em / fromPoints(1));
  const must = Math.min(points(slot.box.width, needs.width), points(slot.box.height, needs.inkHeight));
  if (must < slot.leastSize) return null;
  const should = Math.max(slot.leastSize, points(slot.box.height, needs.fontHeight));
  return stepDown(Math.min(slot.size, must, should), slot);
};

/** The next size of the ladder at or below `points`: the slot's own two sizes and the whole steps between them. */
export const stepDown = (points: number, slot: Slot): number =>
  points >= slot.size ? slot.size : Math.max(slot.leastSize, Math.floor(points / STEP) * STEP);

/** The next smaller size, or `null` below the least. */
export const nextSmaller = (points: number, slot: Slot): number | null =>
  points <= slot.leastSize ? null : Math.max(slot.leastSize, Math.ceil(points / STEP - 1) * STEP);

/** Where the pen starts, in drawing space (y down), for a size in points. Micrometres. */
export const originOf = (
  needs: Needs,
  box: Rect,
  align: Slot["align"],
  points: number,
): readonly [x: number, y: number] => {
  const em = fromPoints(points);
  const room = box.width - needs.width * em;
  const before = { left: 0, centre: room / 2, right: room }[align];
  return [box.x + before - needs.left * em, box.y + box.height / 2 + needs.drop * em];
};
