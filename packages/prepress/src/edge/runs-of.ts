import type { Across } from "./line-across.ts";
import type { Station } from "./walk-cut.ts";

/**
 * Length along the cut, µm, from which a change is reported (common practice, no source): of 150 photographs of other hands, cut at
 * random, none has an edge of its own so long on the cut, and five have one of 5 to 9.7 mm. On a ring of less than four times as
 * much a quarter of it, and never less than the second.
 */
const LONG = 10_000;
const LEAST = 5000;
/** What is clipped at the cut changes right at it, µm, beside half a pixel; farther from it only a whole side counts: a fifth of the ring, or so much. */
const AT_CUT = 100;
const SIDE = 40_000;
/** Length, µm, over which no change may be found within a run: noise, or a colour that meets its like. */
const MISSING = 750;
/** Share of a run's places that must show the change. */
const SHARE = 0.8;
/** How far a change may wander to or from the cut within a run, µm, beside what pixels make of it: one that crosses it goes on. */
const WANDER = 150;

/** A run of the cut along which the drawn bleed is of another colour than the artwork inside. Lengths in mm. */
export interface ColourRun {
  /** A place in its middle. */
  readonly at: readonly [x: number, y: number];
  readonly length: number;
  /** How far beyond the cut the change lies (negative: inside). */
  readonly off: number;
  /** Device values of the picture on either side: the middle ones of the run. */
  readonly inside: readonly number[];
  readonly beyond: readonly number[];
}

/** A sharp change of colour at a station: how far beyond the cut (µm), and the device values on the line across. */
export interface Change {
  readonly off: number;
  readonly values: Uint8Array;
}

type Placed = Change & { readonly n: number };

/** The runs of one ring along which the colour changes at one and the same distance from the cut (common practice, no source). */
export const runsOf = (
  stations: readonly Station[],
  step: number,
  changes: ReadonlyMap<number, Change>,
  across: Across,
): ColourRun[] => {
  const wander = WANDER + across.pixel;
  const most = Math.max(1, Math.round(MISSING / step));
  const ring = stations.length * step;
  const least = Math.max(LEAST, Math.min(LONG, ring / 4));
  const side = Math.max(least, Math.min(SIDE, ring / 5));
  const first = startOf(stations.length, changes);
  const runs: Placed[][] = [];
  let run: Placed[] = [];
  let sum = 0;
  for (let n = 0; n < stations.length; n++) {
    const change = changes.get((first + n) % stations.length);
    const last = run.at(-1);
    if (last && n - last.n > most) {
      runs.push(run);
      [run, sum] = [[], 0];
    }
    if (!change || (run.length > 0 && Math.abs(change.off - sum / run.length) > wander)) continue;
    run.push({ ...change, n });
    sum += change.off;
  }
  runs.push(run);
  return runs.flatMap((found) => {
    const [start, end] = [found[0]?.n ?? 0, found.at(-1)?.n ?? -1];
    const length = (end - start + 1) * step;
    const close = Math.abs(meanOff(found)) <= AT_CUT + across.pixel / 2;
    if (length < (close ? least : side) || found.length < SHARE * (end - start + 1)) return [];
    const third = Math.ceil(found.length / 3);
    const [head, tail] = [meanOff(found.slice(0, third)), meanOff(found.slice(-third))];
    if (Math.abs(head - tail) > wander) return [];
    const { x, y } = stations[(first + Math.round((start + end) / 2)) % stations.length] as Station;
    const values = found.map((one) => one.values);
    return [
      {
        at: [Math.round(x) / 1000, Math.round(y) / 1000] as const,
        length: length / 1000,
        off: Math.round(meanOff(found)) / 1000,
        inside: middleOf(values, across, across.middles[0]),
        beyond: middleOf(values, across, across.middles[1]),
      },
    ];
  });
};

/** Where to begin on a ring: behind the longest stretch without a change, so that no run is cut in two. */
const startOf = (count: number, changes: ReadonlyMap<number, Change>): number => {
  const marked = [...changes.keys()].sort((a, b) => a - b);
  let [best, start] = [-1, 0];
  for (const [k, i] of marked.entries()) {
    const before = k === 0 ? (marked.at(-1) as number) - count : (marked[k - 1] as number);
    if (i - before > best) [best, start] = [i - before, i];
  }
  return start;
};

const meanOff = (some: readonly Placed[]): number => some.reduce((sum, { off }) => sum + off, 0) / some.length;

/** The middle value of each colour at a depth. */
const middleOf = (lines: readonly Uint8Array[], { depths, colours }: Across, depth: number): number[] => {
  const nearest = depths.reduce((best, one, i) => {
    return Math.abs(one - depth) < Math.abs((depths[best] as number) - depth) ? i : best;
  }, 0);
  return Array.from({ length: colours }, (_, c) => {
    const values = lines.map((line) => line[nearest * colours + c] as number).sort((a, b) => a - b);
    return values[values.length >> 1] as number;
  });
};
