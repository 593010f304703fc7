import { diceOf } from "./dice.ts";
import type { Placed } from "@kitforme/nest";
import type { Exchange, Pattern } from "./pattern-book.ts";

/** Area that an exchange may add to a sheet, in parts of it: to begin with and at the least and most; one attempt in eight is to come off. */
const GAIN = { first: 0.03, least: 0.003, most: 0.3, up: 1.1, down: 1.1 ** (-1 / 8) };
/** Exchanges thought of in a row without one that comes off: then larger gains are allowed, and at last it ends. */
const REFUSED = 200;
const BARREN = 20_000;
/** A piece on no layout makes the plan worthless, however few are wanted: it counts for so much of a sheet besides, times the mean run. */
const ABSENT = 0.1;
/** Attempts with the same pieces before they are left alone. */
const TRIES = 2;
/** How many pieces leave a sheet: as often as written. */
const GOING = [0, 1, 1, 2];
/** What thinking of an exchange costs beside a move. */
const THOUGHT = 0.01;

export interface Refining {
  /** Copies of every footprint, and of which not one more may be made. */
  readonly need: readonly number[];
  readonly exact: readonly boolean[];
  /** Area of every footprint, and of a sheet. */
  readonly area: readonly number[];
  readonly room: number;
  readonly exchange: Exchange;
  /** Moves of single pieces that may be made. */
  readonly moves: number;
  readonly seed: number;
  readonly aborted: () => boolean;
}

/** Layouts and how often each is printed. */
export interface Printed {
  readonly patterns: readonly Pattern[];
  readonly runs: readonly number[];
}

/**
 * The same runs with less left short, measured by area: one or two pieces of a layout go of which there are enough, one or two
 * come that are short. Footprints of which not one copy more may be made count as short when there are too many as well.
 */
export const refine = (
  { patterns: given, runs }: Printed,
  refining: Refining,
): { readonly patterns: Pattern[]; readonly enough: boolean } => {
  const { need, exact, area, room, exchange, moves, aborted } = refining;
  const dice = diceOf(refining.seed);
  const missed = new Map<string, number>();
  const patterns = [...given];
  const made = Float64Array.from(need, (_, i) =>
    patterns.reduce((sum, p, j) => sum + (p.counts[i] as number) * (runs[j] as number), 0),
  );
  const absent = (ABSENT * room * runs.reduce((a, b) => a + b, 0)) / runs.length;
  const shortOf = (i: number, n: number): number => {
    const off = (need[i] as number) - n;
    if (n <= 0 && off > 0) return off * (area[i] as number) + absent;
    return (off > 0 || exact[i] ? Math.abs(off) : 0) * (area[i] as number);
  };
  let short = made.reduce((sum, n, i) => sum + shortOf(i, n), 0);
  let spent = 0;
  let barren = 0;
  let gainMost = GAIN.first;
  /** An exchange on a layout: places that go, footprints that come. */
  const propose = ({ placed }: Pattern): { gone: number[]; added: number[]; change: Map<number, number> } => {
    const change = new Map<number, number>();
    const gone: number[] = [];
    const added: number[] = [];
    const going = Math.min(placed.length - 1, GOING[dice.below(GOING.length)] as number);
    for (let q = 0; q < going; q++) {
      const at = dice.below(placed.length);
      if (gone.includes(at)) continue;
      gone.push(at);
      const f = (placed[at] as Placed).footprint;
      change.set(f, (change.get(f) ?? 0) - 1);
    }
    const coming = gone.length > 0 && dice.next() < 0.4 ? 2 : 1;
    for (let q = 0; q < coming; q++) {
      const f = dice.below(need.length);
      if ((need[f] as number) <= 0) continue;
      added.push(f);
      change.set(f, (change.get(f) ?? 0) + 1);
    }
    return { gone, added, change };
  };
  while (short > 1e-6 && spent < moves && barren < BARREN && !aborted()) {
    spent += THOUGHT;
    if (++barren % REFUSED === 0) gainMost = Math.min(GAIN.most, gainMost * 1.3);
    const j = dice.below(patterns.length);
    const pattern = patterns[j] as Pattern;
    const { gone, added, change } = propose(pattern);
    if (added.length === 0) continue;
    let grows = 0;
    let less = 0;
    for (const [f, by] of change) {
      grows += by * (area[f] as number);
      less += shortOf(f, made[f] as number) - shortOf(f, (made[f] as number) + by * (runs[j] as number));
    }
    if (less < 1e-6 || grows > gainMost * room) continue;
    const key = `${j}:${pattern.counts.join()}:${[...change].flat().join()}`;
    const misses = missed.get(key) ?? 0;
    if (misses >= TRIES) continue;
    const { pattern: exchanged, moves: took } = exchange(pattern, gone, added);
    spent += took;
    if (!exchanged) {
      missed.set(key, misses + 1);
      gainMost = Math.max(GAIN.least, gainMost * GAIN.down);
      continue;
    }
    gainMost = Math.min(GAIN.most, gainMost * GAIN.up);
    for (const [f, by] of change) made[f] = (made[f] as number) + by * (runs[j] as number);
    patterns[j] = exchanged;
    short -= less;
    barren = 0;
  }
  return { patterns, enough: short <= 1e-6 };
};
