// Colour that stops short of the contour by a little is sloppy, colour that ends farther inside ends on purpose. The strip is what
// lies between: blank pixels, or half covered by its edge, from which colour is met on the way inward within the gap.
//
//    outside |. . # # #      the way inward from '.' meets colour '#' within the gap: strip, to be filled
//    outside |. . . . .      it meets none: blank, and so is its bleed
//
// The way inward leads to the middle of what the region has around a pixel: the distance to the contour alone would make strip
// of the blank on either side of a stripe that runs off, and spread the stripe.
import { reaching } from "./connected.ts";
import type { Shown } from "./shown.ts";
import { disc, dilate, has, intersect, isEmpty, minus, type Runs, RunsWriter, rectangle, union } from "./runs.ts";

/** Pixels over which an enlarged picture fades at its edge: so far partly transparent pixels look for solid colour. */
const FADE = 5;

export interface StripRequest {
  readonly body: Runs;
  readonly width: number;
  /** Beyond the contour, where bleed must be made: without what is drawn already. */
  readonly open: Runs;
  readonly shown: Shown;
  /** Pixels. */
  readonly gap: number;
  /** Pixels along the contour below which blank pixels are detail, not gap. */
  readonly least: number;
}

/** The pixels inside the contour that colour should have reached. */
export const stripOf = ({ body, width, open, shown, gap, least }: StripRequest): Runs => {
  const outside = minus(rectangle(body.rows, 0, 0, width, body.rows), body);
  // Pixel i from the contour is i + 1 from the last pixel outside, and its edge i pixels inside.
  const within = (depth: number): Runs => intersect(body, dilate(outside, disc((depth + 1) ** 2), width));
  const far = Math.max(gap + 1, FADE);
  const near = within(gap);
  const deep = within(far);
  const seen = gap > 0 ? intersect(shown.seen, near) : intersect(near, open);
  const firm = intersect(shown.solid, deep);
  const bare = intersect(intersect(shown.blank, near), dilate(seen, disc((gap + 1) ** 2), width));
  const faint = intersect(intersect(shown.partial, deep), dilate(firm, disc((far + 1) ** 2), width));
  const before = union(
    facing(bare, seen, body, gap + 2, Math.ceil(gap) + 3),
    facing(faint, firm, body, far + 2, Math.ceil(gap) + 3),
  );
  if (isEmpty(before)) return before;
  const rim = intersect(body, dilate(open, disc(2), width));
  return union(reaching(before, rim, least), reaching(before, intersect(rim, faint)));
};

/**
 * Of `set`: the pixels that meet one of `goal` on the way inward.
 * @param far pixels to go at most
 * @param radius pixels around, over which the middle of the body is taken
 */
const facing = (set: Runs, goal: Runs, body: Runs, far: number, radius: number): Runs => {
  const brush = disc(radius * radius);
  const out = new RunsWriter(set.rows);
  for (let y = 0; y < set.rows; y++) {
    for (let i = set.start[y]; i < set.start[y + 1]; i += 2)
      for (let x = set.ends[i]; x < set.ends[i + 1]; x++)
        if (meets(x, y, goal, body, far, middleAround(x, y, body, brush))) out.add(x, x + 1);
    out.endRow();
  }
  return out.done();
};

const meets = (
  x: number,
  y: number,
  goal: Runs,
  body: Runs,
  far: number,
  [dx, dy]: readonly [number, number],
): boolean => {
  const long = Math.hypot(dx, dy);
  // A part thinner than the gap lies on both sides alike: any colour near is its own.
  if (long < 1e-6) return true;
  for (let t = 0.5; t <= far; t += 0.5) {
    const [px, py] = [Math.round(x + (t * dx) / long), Math.round(y + (t * dy) / long)];
    if (px === x && py === y) continue;
    if (!has(body, px, py)) return false;
    if (has(goal, px, py)) return true;
  }
  return false;
};

/** From a pixel to the middle of the body within a brush around it. */
const middleAround = (
  x: number,
  y: number,
  { rows, start, ends }: Runs,
  brush: readonly number[],
): readonly [number, number] => {
  const k = (brush.length - 1) / 2;
  let [sumX, sumY] = [0, 0];
  for (let dy = Math.max(-k, -y); dy <= k && y + dy < rows; dy++) {
    const wide = brush[dy + k];
    const end = start[y + dy + 1];
    for (let i = start[y + dy]; i < end; i += 2) {
      const from = Math.max(x - wide, ends[i]);
      const to = Math.min(x + wide + 1, ends[i + 1]);
      if (from >= to) continue;
      sumX += ((to - from) * (from + to - 1 - 2 * x)) / 2;
      sumY += (to - from) * dy;
    }
  }
  return [sumX, sumY];
};
