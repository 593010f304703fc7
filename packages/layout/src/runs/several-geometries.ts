import type { Effort } from "@kitforme/nest";
import { annealContents } from "./anneal-contents.ts";
import type { Contents, Stop } from "./contents.ts";
import type { Keeper } from "./keeper.ts";
import { LeastRuns } from "./least-runs.ts";
import { refine } from "./refine.ts";
import type { Geometry, Quota, Search } from "./search.ts";
import { sizedContents } from "./sized-contents.ts";
import type { Pattern } from "./pattern-book.ts";

/** Rounds of it for one number of layouts. */
const ROUNDS: Record<Effort, number> = { quick: 4, normal: 5, best: 16 };
/** Kinds up to which several layouts are searched as long as may be, however cheap layouts are. */
const FEW = 12;
/** Moves of the annealing for one set of layouts. */
const MOVES: Record<Effort, number> = { quick: 20_000, normal: 60_000, best: 200_000 };

/**
 * A given number of geometries. The contents are planned in the belief that a sheet holds so much area. What could not be laid
 * is made up for by exchanges; where that is not enough, its pieces count for more the next time. False when not even the plan
 * finds room for every footprint.
 */
export const severalGeometries = async (
  search: Search,
  quota: Quota,
  kinds: readonly number[],
  layouts: number,
  size: number[],
  keeper: Keeper,
  over: Stop,
): Promise<boolean> => {
  const { book, effort, costs } = search;
  const { field, need } = quota;
  const demand = kinds.map((i) => need[i] as number);
  // Where each piece laid by itself is there already and hard to beat, laying dozens of kinds again and again would take long
  // for nothing.
  const part = keeper.best && costs.newLayout < costs.sheetChange ? Math.min(1, (FEW / kinds.length) ** 2) : 1;
  // Equal places are laid at once, and `annealContents` plans them best; of unlike ones it is lost.
  const alike = kinds.every(
    (i) => Math.abs((book.area[i] as number) / (book.area[kinds[0] as number] as number) - 1) < 1e-3,
  );
  // More is at stake where there is more to print.
  const pieces = demand.reduce((a, b) => a + b, 0);
  const weight = 1 + Math.min(pieces, 1000) / 1500;
  const rounds = Math.max(2, Math.round(part * ROUNDS[effort] * (alike ? 2 : 1) * weight));
  const aborted = (): boolean => search.signal?.aborted ?? false;
  let laidOut = false;
  const believe = (by: number): void => {
    size.forEach((s, k) => {
      size[k] = s * by;
    });
  };
  for (let round = 0; round < rounds; round++) {
    const seed = 31 * layouts + round;
    const capped = size.map((s) => Math.min(s, 1));
    const contents = (alike ? annealContents : sizedContents)(
      {
        layouts,
        demand,
        size: capped,
        capacity: 1,
        most: capped.map((s, k) => Math.min(Math.max(1, Math.floor(1 / s + 1e-9)), demand[k] as number)),
      },
      {
        iterations: Math.ceil(part * MOVES[effort]),
        seed,
        better: Math.floor((keeper.price - costs.newLayout * layouts) / Math.max(costs.sheetChange, 1e-9)) + 1,
        ...(search.signal ? { signal: search.signal } : {}),
      },
    );
    if (!contents) {
      // Too much was learnt from what did not go: believe in a little more room again.
      if (!laidOut || round + 1 === rounds) return laidOut;
      believe(TRUSTED);
      continue;
    }
    laidOut = true;
    const tried: Pattern[] = [];
    let missed = false;
    for (const row of contents.counts) {
      if (over.aborted && keeper.best) return true;
      const counts = need.map(() => 0);
      kinds.forEach((i, k) => {
        counts[i] = row[k] as number;
      });
      const pattern = await book.most(field, counts, effort);
      tried.push(pattern);
      if (kinds.some((i) => (pattern.counts[i] as number) < (counts[i] as number))) missed = true;
    }
    const exchange = missed ? book.exchanger(field, seed, aborted) : undefined;
    const { patterns, enough: repaired } = exchange
      ? refine(
          { patterns: tried, runs: contents.runs },
          {
            need,
            exact: quota.exact,
            area: book.area,
            room: book.room[field] as number,
            exchange,
            moves: REFINING[effort],
            seed,
            aborted,
          },
        )
      : { patterns: tried, enough: !missed };
    // The first belief is far too good.
    if (!repaired) enlarge(size, contents.counts, kinds, patterns, book.area, round === 0 ? 0.9 : 0.5);
    // What is on none of them after all goes onto sheets of its own: the plan is expensive, but it is one.
    const absent = need.map((n, i) => (n > 0 && patterns.every((p) => p.counts[i] === 0) ? 1 : 0));
    if (absent.some((n) => n > 0) && (round === rounds - 1 || !keeper.best))
      patterns.push(...(await book.spread(absent, "quick", search.threads, search.signal)));
    keeper.offer(withRuns(patterns, kinds, need));
    if (repaired) believe(EASED);
  }
  return true;
};

/**
 * Makes pieces of layouts that will not close look larger: by `trust` of what was asked of the layout beyond what it took. A
 * piece of several layouts follows their mean.
 */
const enlarge = (
  size: number[],
  rows: Contents["counts"],
  kinds: readonly number[],
  patterns: readonly Pattern[],
  area: readonly number[],
  trust: number,
): void => {
  const factors = rows.map((row, j) => {
    const areaBy = (count: (k: number) => number): number =>
      kinds.reduce((sum, i, k) => sum + count(k) * (area[i] as number), 0);
    const asked = areaBy((k) => row[k] as number);
    const found = areaBy((k) => (patterns[j] as Pattern).counts[kinds[k] as number] as number);
    return asked > found ? 1 + Math.max(0.01, trust * (asked / Math.max(found, 1) - 1)) : 1;
  });
  size.forEach((s, k) => {
    const mine = factors.filter((_, j) => (rows[j]?.[k] as number) > 0);
    if (mine.length > 0) size[k] = (s * mine.reduce((a, b) => a + b, 0)) / mine.length;
  });
};

/** What pieces shrink by in belief when all went, and when nothing could be hoped for. */
const EASED = 0.985;
const TRUSTED = 0.97;
/** Moves of single pieces to make up for what a layout did not take. */
const REFINING: Record<Effort, number> = { quick: 300, normal: 3000, best: 20_000 };

/** The least whole runs for these layouts; none when a footprint is on none of them. */
const withRuns = (patterns: readonly Pattern[], kinds: readonly number[], need: readonly number[]): Geometry[] => {
  const counts = new Int32Array(patterns.length * kinds.length);
  patterns.forEach((p, j) =>
    kinds.forEach((i, k) => {
      counts[j * kinds.length + k] = p.counts[i] as number;
    }),
  );
  const demand = Float64Array.from(kinds, (i) => need[i] as number);
  const whole = new LeastRuns(patterns.length, kinds.length).whole(counts, demand);
  return whole ? patterns.map((pattern, j) => ({ pattern, run: whole.runs[j] as number })) : [];
};
