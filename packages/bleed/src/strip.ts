// Ink that stops short of the cut by a little is sloppy, ink that ends farther inside ends on purpose. The strip is what lies
// between: pixels without ink, or half covered by its edge, from which ink is met on the way inward within the gap.
//
//    outside |. . # # #      the way inward from '.' meets ink '#' within the gap: strip, to be filled
//    the cut |. . . . .      it meets none: paper, that prints nothing and bleeds nothing
//
// The way inward leads to the middle of what the piece has around a pixel: the distance to the cut alone would make strip of
// the paper on either side of a stripe that runs off, and spread the stripe.
import { reaching } from "./connected.ts";
import type { Printed } from "./printed.ts";
import { disc, dilate, has, intersect, isEmpty, minus, type Runs, RunsWriter, rectangle, union } from "./runs.ts";

/** Pixels over which enlarged artwork fades at its edge: so far partly transparent pixels look for solid ink. */
const FADE = 5;

export interface StripRequest {
  readonly body: Runs;
  readonly width: number;
  /** Beyond the cut, where bleed must be made: without the designer's own. */
  readonly open: Runs;
  readonly printed: Printed;
  /** Pixels. */
  readonly gap: number;
  /** Pixels along the cut below which uninked pixels are detail, not gap. */
  readonly least: number;
}

/** The pixels inside the contour that ink should have reached. */
export const stripOf = ({ body, width, open, printed, gap, least }: StripRequest): Runs => {
  const outside = minus(rectangle(body.rows, 0, 0, width, body.rows), body);
  // Pixel i from the cut is i + 1 from the last pixel outside, and its edge i pixels inside.
  const within = (depth: number): Runs => intersect(body, dilate(outside, disc((depth + 1) ** 2), width));
  const far = Math.max(gap + 1, FADE);
  const near = within(gap);
  const deep = within(far);
  const seen = gap > 0 ? intersect(printed.seen, near) : intersect(near, open);
  const firm = intersect(printed.solid, deep);
  const bare = intersect(intersect(printed.paper, near), dilate(seen, disc((gap + 1) ** 2), width));
  const faint = intersect(intersect(printed.partial, deep), dilate(firm, disc((far + 1) ** 2), width));
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
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2)
      for (let x = set.ends[i] as number; x < (set.ends[i + 1] as number); x++)
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
  // A part thinner than the gap lies on both sides alike: any ink near is its own.
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
    const wide = brush[dy + k] as number;
    const end = start[y + dy + 1] as number;
    for (let i = start[y + dy] as number; i < end; i += 2) {
      const from = Math.max(x - wide, ends[i] as number);
      const to = Math.min(x + wide + 1, ends[i + 1] as number);
      if (from >= to) continue;
      sumX += ((to - from) * (from + to - 1 - 2 * x)) / 2;
      sumY += (to - from) * dy;
    }
  }
  return [sumX, sumY];
};
