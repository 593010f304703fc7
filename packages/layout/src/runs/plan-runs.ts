import { annealContents } from "./anneal-contents.ts";
import type { Contents, Stop } from "./contents.ts";
import { exactContents } from "./exact-contents.ts";

/** Equal places: which piece gets how many places of which layout, and how often is each layout printed. */
export interface RunsRequest {
  /** Places on every layout. */
  readonly slots: number;
  /** Copies wanted of every piece. */
  readonly demands: readonly number[];
  /** Cost of one sheet and of one more layout. */
  readonly cost: { readonly sheet: number; readonly layout: number };
  /** Exactly so many layouts; left out, the number that costs least. */
  readonly layouts?: number;
  /** Moves of the search, all layouts together (default 6,000,000: a few seconds). */
  readonly iterations?: number;
  readonly seed?: number;
  readonly signal?: Stop;
}

/** Layouts of equal places and how often each is printed. */
export interface RunsPlan {
  /** `counts[j][i]`: places of piece i on layout j. */
  readonly counts: readonly (readonly number[])[];
  readonly runs: readonly number[];
  readonly sheets: number;
  readonly cost: number;
  /** No plan has fewer sheets, or costs less. */
  readonly bound: { readonly sheets: number; readonly cost: number };
  /** The number of layouts is given, or one to three, and the sheets are shown to be the least for it. */
  readonly proven: boolean;
}

/**
 * Cover printing, label printing, template design: every piece made at least as often as wanted, at least
 * `cost.sheet * sheets + cost.layout * layouts`. One to three layouts are solved exactly where the numbers allow it, more of
 * them by annealing from many starts, the numbers of layouts that promise most first. Undefined when `layouts` cannot hold the pieces.
 */
export const planRuns = (request: RunsRequest): RunsPlan | undefined => {
  const { slots, demands, cost, signal } = request;
  const wanted = demands.map((d, i) => ({ d, i })).filter((w) => w.d > 0);
  const demand = wanted.map((w) => w.d);
  const least = Math.ceil(demand.reduce((a, b) => a + b, 0) / slots);
  const fewest = Math.max(1, Math.ceil(demand.length / slots));
  if (demand.length === 0)
    return { counts: [], runs: [], sheets: 0, cost: 0, bound: { sheets: 0, cost: 0 }, proven: true };
  const from = request.layouts ?? fewest;
  const to = request.layouts ?? demand.length;
  if (from < fewest) return undefined;
  const price = (layouts: number, sheets: number): number => cost.sheet * sheets + cost.layout * layouts;
  const lanes: Lane[] = [];
  let best = Number.POSITIVE_INFINITY;
  let left = request.iterations ?? ITERATIONS;
  const seed = request.seed ?? 1;
  let stale = 0;
  for (let g = from; g <= to && stale < 6; g++) {
    if (price(g, least) >= best || (signal?.aborted && lanes.length > 0)) break;
    const lane: Lane = { layouts: g, price: Number.POSITIVE_INFINITY, starts: 0, closed: false, best: undefined };
    lanes.push(lane);
    if (g <= 3) {
      const trial = exactContents({
        layouts: g as 1 | 2 | 3,
        slots,
        demand,
        better: Number.POSITIVE_INFINITY,
        work: Math.min(EXACT_MOST, EXACT_WORK * (request.iterations ?? ITERATIONS)),
        signal,
      });
      take(lane, trial.found, price);
      lane.closed = trial.proven;
    }
    if (!lane.closed) left -= anneal(lane, { slots, demand, price, seed, iterations: 5_000 * g, signal });
    stale = lane.price < best ? 0 : stale + 1;
    best = Math.min(best, lane.price);
  }
  for (let round = 1; left > 0 && !signal?.aborted; round++) {
    const open = lanes
      .filter((l) => !l.closed && price(l.layouts, least) < best)
      .sort((a, b) => a.price - b.price || a.layouts - b.layouts);
    if (open.length === 0) break;
    // The best number of layouts gets every other round, the next ones the rounds between: 1 2 1 3 1 2 1 4 ...
    const lane = open[Math.min(trailing(round), open.length - 1)] as Lane;
    // Starts grow: short ones find the valley of small jobs, long ones are needed for ten layouts.
    const iterations = Math.min(left, 20_000 * lane.layouts * Math.min(16, 1 + lane.starts));
    left -= anneal(lane, { slots, demand, price, seed, iterations, signal });
    best = Math.min(best, lane.price);
  }
  const answer = lanes.reduce((a, b) => (b.price < a.price ? b : a));
  if (!answer.best) return undefined;
  const { counts, runs, sheets } = answer.best;
  const bound = { sheets: least, cost: price(fewest, least) };
  return {
    counts: counts.map((row) => {
      const all = demands.map(() => 0);
      wanted.forEach((w, k) => {
        all[w.i] = row[k] as number;
      });
      return all;
    }),
    runs,
    sheets,
    cost: answer.price,
    bound,
    proven: sheets === least || answer.closed,
  };
};

const ITERATIONS = 6_000_000;
/** Table entries that may be filled for one number of layouts, per move granted: a fifth of the time of the moves. */
const EXACT_WORK = 20;
/** And at most, however many moves: some seconds. What is not proven by then is searched like the rest. */
const EXACT_MOST = 400_000_000;

/** The search for one number of layouts. */
interface Lane {
  readonly layouts: number;
  best: Contents | undefined;
  price: number;
  starts: number;
  /** The best is known to be the least for this number of layouts. */
  closed: boolean;
}

interface Setting {
  readonly slots: number;
  readonly demand: readonly number[];
  readonly price: (layouts: number, sheets: number) => number;
  readonly seed: number;
  readonly iterations: number;
  readonly signal: Stop | undefined;
}

const take = (lane: Lane, found: Contents | undefined, price: Setting["price"]): void => {
  if (!found || (lane.best && lane.best.sheets <= found.sheets)) return;
  // A layout that is never printed is not made.
  const used = found.runs.map((_, j) => j).filter((j) => (found.runs[j] as number) > 0);
  lane.best = {
    counts: used.map((j) => found.counts[j] as readonly number[]),
    runs: used.map((j) => found.runs[j] as number),
    sheets: found.sheets,
  };
  lane.price = price(used.length, found.sheets);
};

const anneal = (lane: Lane, setting: Setting): number => {
  const { slots, demand, iterations, seed, signal, price } = setting;
  const start = lane.starts++;
  const found = annealContents(
    {
      layouts: lane.layouts,
      demand,
      size: demand.map(() => 1),
      capacity: slots,
      most: demand.map(() => slots),
    },
    {
      iterations,
      seed: seed * 1_000_003 + lane.layouts * 7919 + start,
      ...(signal ? { signal } : {}),
      ...(lane.best ? { better: lane.best.sheets } : {}),
    },
  );
  take(lane, found, price);
  if (lane.best?.sheets === Math.ceil(demand.reduce((a, b) => a + b, 0) / slots)) lane.closed = true;
  return iterations;
};

/** How many times two divides n: 0 1 0 2 0 1 0 3 ... */
const trailing = (n: number): number => 31 - Math.clz32(n & -n);
