// A gradient as runs between two colours along its way, each in so many steps that none is a level away from its neighbour:
// SVG mixes in sRGB, and between two steps a page mixes in its own inks.
import type { Gradient, Rgb } from "./shapes.ts";

export interface Run {
  readonly from: number;
  readonly to: number;
  readonly steps: readonly Rgb[];
}

/** What a hard end adds to a gradient's way, so that its last colour goes on beyond. */
const EDGE = 0.001;

/** The runs of a gradient in their order, without gaps. */
export const runsOf = ({ stops, turns, mirrored }: Pick<Gradient, "stops" | "turns" | "mirrored">): readonly Run[] => {
  const first = stops[0];
  const last = stops.at(-1);
  if (!first || !last) throw new Error("a gradient without stops reached its runs");
  const whole = [{ ...first, offset: 0 }, ...stops, { ...last, offset: 1 }];
  const runs: Run[] = [];
  const add = (from: number, to: number, a: Rgb, b: Rgb): void => {
    if (to > from) runs.push({ from, to, steps: stepsBetween(a, b) });
  };
  for (let turn = turns[0]; turn < turns[1]; turn++) {
    const back = mirrored && Math.abs(turn) % 2 === 1;
    const along = back ? whole.map(({ offset, rgb }) => ({ offset: 1 - offset, rgb })).reverse() : whole;
    for (const [i, stop] of along.entries()) {
      const before = along[i - 1];
      if (before) add(turn + before.offset, turn + stop.offset, before.rgb, stop.rgb);
    }
  }
  if (turns[0] === 0 && turns[1] === 1 && endOf(runs) !== last.rgb) add(1, 1 + EDGE, last.rgb, last.rgb);
  const start = runs[0];
  if (turns[0] === 0 && turns[1] === 1 && start && start.steps[0] !== first.rgb)
    runs.unshift({ from: -EDGE, to: 0, steps: stepsBetween(first.rgb, first.rgb) });
  return runs;
};

const endOf = (runs: readonly Run[]): Rgb | undefined => runs.at(-1)?.steps.at(-1);

const channels = (rgb: Rgb): readonly [number, number, number] => [rgb >> 16, (rgb >> 8) & 255, rgb & 255];

/** Colours from one to another, both ends among them, evenly apart. */
export const stepsBetween = (a: Rgb, b: Rgb): readonly Rgb[] => {
  const [one, other] = [channels(a), channels(b)];
  const most = Math.max(1, ...one.map((value, i) => Math.abs(value - (other[i] as number))));
  return Array.from({ length: most + 1 }, (_, step) => {
    const [r, g, blue] = one.map((value, i) => Math.round(value + (((other[i] as number) - value) * step) / most)) as [
      number,
      number,
      number,
    ];
    return (r << 16) | (g << 8) | blue;
  });
};
