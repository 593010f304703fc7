import type { Rect, Um } from "@kitforme/geometry";
import { fromPoints, unit } from "@kitforme/geometry";
import type { TextSlot } from "@kitforme/kit";
import { gapOf } from "./line-gap.ts";
import type { ShapedLine } from "./shape.ts";
import type { Typeface } from "./typeface.ts";

/** Type sizes are taken from this ladder, so that a hair more of room does not give an odd size. Points. */
const STEP = 0.25;
/** From baseline to baseline where the slot does not say and no ink meets, in type sizes: common practice, no source. */
const LEADING = 1.2;

/** What the lines of a text need of their box, in em but for `rim`. */
export interface Needs {
  /** Of each line, from the leftmost of pen and ink to the rightmost. */
  readonly lines: readonly { readonly left: number; readonly width: number }[];
  readonly width: number;
  readonly leading: number;
  /** Ink above the first baseline, and below the last. */
  readonly above: number;
  readonly below: number;
  /** What the font keeps above and below a baseline. */
  readonly ascent: number;
  readonly descent: number;
  /** Where the baselines' middle lies below the box's: the same for every text, so that names with and without descenders align. */
  readonly drop: number;
  /** Height that keeps the ink inside, for a text that stands as the slot says. */
  readonly inkHeight: number;
  /** Height that keeps the font's own ascent and descent inside. */
  readonly fontHeight: number;
  /** Outline beyond the letters on every side, micrometres. */
  readonly rim: Um;
}

export const needsOf = (shaped: readonly ShapedLine[], lead: Typeface, slot: TextSlot): Needs => {
  const lines = shaped.map(({ ink, advance }) => {
    const left = Math.min(0, ink?.left ?? 0);
    return { left, width: Math.max(advance, ink?.right ?? 0) - left };
  });
  const leading = slot.leading ?? Math.max(LEADING, gapOf(shaped, lines, slot.align));
  const tall = (shaped.length - 1) * leading;
  // The tallest of all lines counts for the first and the last, so that lines stay where they are whatever is written.
  const above = Math.max(...shaped.map(({ ink }, i) => (ink?.top ?? 0) - i * leading));
  const below = Math.max(...shaped.map(({ ink }, i) => -(ink?.bottom ?? 0) - (shaped.length - 1 - i) * leading));
  const { ascent, descent } = lead;
  const drop = (ascent - descent) / 2;
  const centred = 2 * Math.max(above - drop + tall / 2, below + drop + tall / 2);
  return {
    lines,
    width: Math.max(...lines.map(({ width }) => width)),
    leading,
    above,
    below,
    ascent,
    descent,
    drop,
    inkHeight: (slot.valign ?? "middle") === "middle" ? centred : above + below + tall,
    fontHeight: ascent + descent + tall,
    rim: slot.outline?.width ?? 0,
  };
};

/** What a block as wide and as high needs of a box's two sides when it is turned. */
const turned = (width: number, height: number, turn: number): readonly [x: number, y: number] => {
  const [cos, sin] = unit(turn).map(Math.abs) as [number, number];
  return [width * cos + height * sin, width * sin + height * cos];
};

/** What a text needs of its box at a size in points: along the box's width and along its height. Micrometres. */
export const needed = (needs: Needs, height: number, turn: number, points: number): readonly [x: number, y: number] => {
  const em = fromPoints(points);
  return turned(needs.width * em + 2 * needs.rim, height * em + 2 * needs.rim, turn);
};

/** The size at which a block of the needs' width and some height fills its box. Points, not of the ladder. */
const fills = (needs: Needs, height: number, slot: TextSlot): number => {
  const each = turned(needs.width, height, slot.turn ?? 0);
  const rim = turned(2 * needs.rim, 2 * needs.rim, slot.turn ?? 0);
  const room = [slot.box.width, slot.box.height] as const;
  return Math.min(
    ...([0, 1] as const).map((side) =>
      (each[side] as number) <= 0 ? Number.POSITIVE_INFINITY : (room[side] - rim[side]) / each[side] / fromPoints(1),
    ),
  );
};

/**
 * The largest size of the ladder, from `size` down to `leastSize`, at which the text fits its box. Ink and pen must fit.
 * The font's ascent and descent should, so that all names of a slot get one size whatever letters they have; but some
 * fonts keep far more than they ink (2.1 em for an Arabic one), so for them alone a text is never refused.
 * `null` when even `leastSize` is too large. Points.
 */
export const fitSize = (needs: Needs, slot: TextSlot): number | null => {
  const must = fills(needs, needs.inkHeight, slot);
  if (must < slot.leastSize) return null;
  const should = Math.max(slot.leastSize, fills(needs, needs.fontHeight, slot));
  return stepDown(Math.min(slot.size, must, should), slot);
};

/** The size at which a text that does not fit would, rounded down to a tenth. Points. */
export const wouldFit = (needs: Needs, slot: TextSlot): number =>
  Math.max(0, Math.floor(fills(needs, needs.inkHeight, slot) * 10) / 10);

/** The next size of the ladder at or below `points`: the slot's own two sizes and the whole steps between them. */
const stepDown = (points: number, slot: TextSlot): number =>
  points >= slot.size ? slot.size : Math.max(slot.leastSize, Math.floor(points / STEP) * STEP);

/** The next smaller size, or `null` below the least. */
export const nextSmaller = (points: number, slot: TextSlot): number | null =>
  points <= slot.leastSize ? null : Math.max(slot.leastSize, Math.ceil(points / STEP - 1) * STEP);

/** Where the pen of each line starts, about the box's middle, x along the reading direction and y up. Micrometres. */
export interface Stand {
  readonly origins: readonly (readonly [x: number, y: number])[];
}

/**
 * Stands a text in its box at a size in points. The turned block of its lines stays inside the box; `align` and `valign` move
 * it along its own directions as far as that allows: for quarter turns to the very edges.
 */
export const standIn = (needs: Needs, box: Rect, slot: TextSlot, points: number): Stand => {
  const em = fromPoints(points);
  const turn = slot.turn ?? 0;
  const [cos, sin] = unit(turn).map(Math.abs) as [number, number];
  const [wide, high] = [needs.width * em + 2 * needs.rim, needs.inkHeight * em + 2 * needs.rim];
  const [x, y] = turned(wide, high, turn);
  const slack = [Math.max(0, (box.width - x) / 2), Math.max(0, (box.height - y) / 2)] as const;
  const along = reachOf(slack, cos, sin);
  const moved = slot.align === "centre" ? 0 : along;
  const across = reachOf([slack[0] - moved * cos, slack[1] - moved * sin], sin, cos);
  const tall = (needs.lines.length - 1) * needs.leading * em;
  const half = high / 2 + across - needs.rim;
  const first = {
    top: half - Math.max(needs.above * em, Math.min(needs.ascent * em, 2 * half - tall - needs.below * em)),
    middle: tall / 2 - needs.drop * em,
    bottom: -half + tall + Math.max(needs.below * em, Math.min(needs.descent * em, 2 * half - tall - needs.above * em)),
  }[slot.valign ?? "middle"];
  const edge = wide / 2 + moved - needs.rim;
  return {
    origins: needs.lines.map(({ left, width }, i) => {
      const start = { left: -edge, centre: (-width * em) / 2, right: edge - width * em }[slot.align];
      return [start - left * em, first - i * needs.leading * em] as const;
    }),
  };
};

/** How far a box may move along a direction (shares along x and y, not negative) with so much slack on each side. */
const reachOf = ([x, y]: readonly [number, number], alongX: number, alongY: number): number =>
  Math.max(0, Math.min(alongX > 1e-9 ? x / alongX : Infinity, alongY > 1e-9 ? y / alongY : Infinity));
