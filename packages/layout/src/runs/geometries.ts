import type { Effort } from "../footprint.ts";
import { annealContents, type Contents, type Stop } from "./contents.ts";
import { equalPieces, ownSheets } from "./equal-pieces.ts";
import { LeastRuns } from "./least-runs.ts";
import { refine } from "./refine.ts";
import { sizedContents } from "./sized-contents.ts";
import { part, type Pattern, type Stock } from "./stock.ts";

/** A cut geometry and how many sheets carry it. */
export interface Geometry {
  readonly pattern: Pattern;
  readonly run: number;
}

/** What has to be made on one field. */
export interface Quota {
  readonly field: number;
  /** Copies of every footprint; 0 for those that are made elsewhere. */
  readonly need: readonly number[];
  /** Footprints of which not one copy more may be made. */
  readonly exact: readonly boolean[];
}

export interface Costs {
  readonly sheetChange: number;
  readonly newLayout: number;
}

export interface Search {
  readonly stock: Stock;
  readonly costs: Costs;
  readonly effort: Effort;
  readonly threads: number;
  readonly signal?: AbortSignal | undefined;
  /** Told how much of the patience is used up, 0 to 1, and the sheets of the best plan so far. */
  readonly onProgress?: (share: number, sheets: number) => void;
}

/** Pieces that may be laid in search of a better plan, more for larger jobs. The first lawful plan is always finished. */
const PATIENCE: Record<Effort, number> = { quick: 150, normal: 1800, best: 12_000 };
/** Rounds of it for one number of layouts. */
const ROUNDS: Record<Effort, number> = { quick: 4, normal: 5, best: 16 };
/** Kinds up to which several layouts are searched as long as may be, however cheap layouts are. */
const FEW = 12;
/** Moves of the annealing for one set of layouts. */
const MOVES: Record<Effort, number> = { quick: 20_000, normal: 60_000, best: 200_000 };

export const priceOf = (geometries: readonly Geometry[], costs: Costs): number =>
  costs.sheetChange * sheetsOf(geometries) + costs.newLayout * geometries.length;

export const sheetsOf = (geometries: readonly Geometry[]): number => geometries.reduce((n, g) => n + g.run, 0);

const placesOf = (geometries: readonly Geometry[]): number => geometries.reduce((n, g) => n + g.pattern.laid.length, 0);

/**
 * Geometries and runs for one field, at least `sheetChange * sheets + newLayout * geometries`. Three ways are tried and the
 * cheapest kept: all on one geometry, several geometries by annealing over contents whose sizes are corrected by what can
 * really be laid, and every piece laid once over as many sheets as that takes.
 */
export const geometriesFor = async (search: Search, quota: Quota): Promise<Geometry[]> => {
  const { stock, costs, effort, signal } = search;
  const kinds = quota.need.flatMap((n, i) => (n > 0 ? [i] : []));
  if (kinds.length === 0) return [];
  const pieces = quota.need.reduce((a, b) => a + b, 0);
  const patience = PATIENCE[effort] * (1 + Math.min(pieces, 3000) / 400);
  const limit = stock.spent + patience;
  const keeper = new Keeper(search, quota);
  const over: Stop = {
    get aborted() {
      return stock.spent > limit || (signal?.aborted ?? false);
    },
  };
  const share = kinds.reduce((sum, i) => sum + (quota.need[i] as number) * (stock.area[i] as number), 0);
  const least = Math.max(1, Math.ceil(share / (stock.room[quota.field] as number) - 1e-9));
  const before = stock.spent;
  const shareAt = (spent: number): number => Math.min(1, (spent - before) / patience);
  stock.onLaid = () => {
    search.onProgress?.(shareAt(stock.spent), keeper.best ? sheetsOf(keeper.best) : 0);
  };
  const equal = await equalPieces(search, quota, kinds);
  keeper.offer(equal.plan);
  // So many to a sheet are not laid one by one in the hope of one more.
  if (keeper.best && equal.places > CROWD) return keeper.best;
  if (equal.places === 0) keeper.offer(ownSheets(search, quota, kinds));
  await oneGeometry(search, quota, keeper, over);
  const flat = async (): Promise<void> => {
    if (pieces > FLAT_PIECES || least * (costs.sheetChange + costs.newLayout) >= keeper.price) return;
    if (signal?.aborted && keeper.best) return;
    const from = shareAt(stock.spent);
    const patterns = await stock.spread(
      quota.need,
      pieces <= 600 ? effort : "quick",
      search.threads,
      signal,
      (share, sheets) => {
        const known = keeper.best ? sheetsOf(keeper.best) : Infinity;
        search.onProgress?.(from + share * (shareAt(stock.spent) - from), Math.min(known, sheets));
      },
    );
    keeper.offer(patterns.map((pattern) => ({ pattern, run: 1 })));
  };
  // Where layouts cost next to nothing every piece by itself is hard to beat; where they cost, it only comes last.
  const cheapLayouts = costs.newLayout < costs.sheetChange;
  if (cheapLayouts) await flat();
  // Share of a sheet that each footprint seems to take: what one number of layouts taught, the next ones know.
  const size = kinds.map((i) => (stock.area[i] as number) / (HOPE * (stock.room[quota.field] as number)));
  let idle = 0;
  for (let layouts = 2; layouts <= kinds.length + 1 && idle < 3 && !(over.aborted && keeper.best); layouts++) {
    // Every layout is printed at least once.
    if (costs.sheetChange * Math.max(least, layouts) + costs.newLayout * layouts >= keeper.price) break;
    const dearer = keeper.price;
    const possible = await severalGeometries(search, quota, kinds, layouts, size, keeper, over);
    if (possible && keeper.best) idle = keeper.price < dearer ? 0 : idle + 1;
  }
  if (!cheapLayouts) await flat();
  if (!keeper.best) keeper.offer(await onceEach(search, quota, kinds));
  return keeper.best ?? [];
};

/** Equal pieces on one sheet beyond which their rows are the plan, without another search. */
const CROWD = 200;

/** Pieces up to which every single piece is laid by itself. */
const FLAT_PIECES = 6_000;

/** Keeps the cheapest plan; of equal ones that with fewest places, so that no place is there for nothing. */
class Keeper {
  best: Geometry[] | undefined;
  price = Number.POSITIVE_INFINITY;
  private readonly search: Search;
  private readonly quota: Quota;

  constructor(search: Search, quota: Quota) {
    this.search = search;
    this.quota = quota;
  }

  offer(raw: readonly Geometry[]): boolean {
    const plan = merged(exactly(trimmed(raw, this.quota), this.quota));
    if (!enough(plan, this.quota)) return false;
    const price = priceOf(plan, this.search.costs);
    if (price < this.price - 1e-9 || (this.best && price < this.price + 1e-9 && placesOf(plan) < placesOf(this.best))) {
      this.best = plan;
      this.price = price;
    }
    return true;
  }
}

const enough = (plan: readonly Geometry[], { need, exact }: Quota): boolean =>
  need.every((n, i) => {
    const made = plan.reduce((sum, g) => sum + g.run * (g.pattern.counts[i] as number), 0);
    return exact[i] ? made === n : made >= n;
  });

/** Without the places that no copy needs, short runs first; geometries that end up empty go. */
export const trimmed = (plan: readonly Geometry[], { need }: Quota): Geometry[] => {
  const spare = need.map((n, i) => plan.reduce((sum, g) => sum + g.run * (g.pattern.counts[i] as number), -n));
  const order = plan.map((_, j) => j).sort((a, b) => (plan[b] as Geometry).run - (plan[a] as Geometry).run || a - b);
  const out = [...plan];
  for (const j of order) {
    const { pattern, run } = out[j] as Geometry;
    if (run <= 0) continue;
    const counts = pattern.counts.map((n, i) => {
      const drop = Math.min(n, Math.max(0, Math.floor((spare[i] as number) / run)));
      spare[i] = (spare[i] as number) - drop * run;
      return n - drop;
    });
    out[j] = { pattern: part(pattern, counts), run };
  }
  return out.filter((g) => g.run > 0 && g.pattern.laid.length > 0);
};

/** Footprints of which no copy too many may be made lose places on the last sheets of a run; those sheets are geometries of their own. */
const exactly = (plan: readonly Geometry[], { need, exact }: Quota): Geometry[] => {
  const spare = need.map((n, i) =>
    exact[i] ? plan.reduce((sum, g) => sum + g.run * (g.pattern.counts[i] as number), -n) : 0,
  );
  if (spare.every((s) => s <= 0)) return [...plan];
  return plan.flatMap(({ pattern, run }) => {
    // How many of each footprint sheet `run - 1`, `run - 2`, ... give up: whole sheets' worth first, the rest on the one before.
    const gone = spare.map((s, i) => {
      const n = pattern.counts[i] as number;
      const take = Math.min(Math.max(0, s), n * run);
      spare[i] = s - take;
      return { n, whole: n > 0 ? Math.floor(take / n) : 0, rest: n > 0 ? take % n : 0 };
    });
    const cuts = [
      ...new Set([0, run, ...gone.flatMap((g) => (g.n > 0 ? [g.whole, g.whole + (g.rest > 0 ? 1 : 0)] : []))]),
    ]
      .filter((c) => c <= run)
      .sort((a, b) => a - b);
    return cuts.slice(0, -1).flatMap((from, c) => {
      const counts = pattern.counts.map((n, i) => {
        const g = gone[i] as { whole: number; rest: number };
        if (from < g.whole) return 0;
        return from < g.whole + (g.rest > 0 ? 1 : 0) ? n - g.rest : n;
      });
      const length = (cuts[c + 1] as number) - from;
      const less = part(pattern, counts);
      return less.laid.length > 0 ? [{ pattern: less, run: length }] : [];
    });
  });
};

/** Equal layouts become one with a longer run. */
const merged = (plan: readonly Geometry[]): Geometry[] => {
  const found = new Map<string, Geometry>();
  for (const g of plan) {
    const key = JSON.stringify([g.pattern.field, g.pattern.counts]);
    const twin = found.get(key);
    found.set(key, twin ? { pattern: twin.pattern, run: twin.run + g.run } : g);
  }
  return [...found.values()].sort((a, b) => b.run - a.run);
};

/** All on one geometry: the shortest run whose places, ceil(need / run) of every footprint, can be laid. */
const oneGeometry = async (search: Search, quota: Quota, keeper: Keeper, over: Stop): Promise<void> => {
  const { stock, costs, effort } = search;
  const { need, exact, field } = quota;
  const at = (run: number): number[] => need.map((n) => Math.ceil(n / run));
  const areaAt = (run: number): number => at(run).reduce((sum, n, i) => sum + n * (stock.area[i] as number), 0);
  const most = need.reduce((a, b) => Math.max(a, b), 1);
  const room = stock.room[field] as number;
  if (areaAt(most) > room) return;
  // Only runs at which some count of places changes are worth a trial.
  const runs = new Set<number>();
  need.forEach((n, i) => {
    const places = Math.floor(room / (stock.area[i] as number));
    for (let k = 1; k <= Math.min(n, places); k++) runs.add(Math.ceil(n / k));
  });
  const sorted = [...runs].filter((r) => areaAt(r) <= room).sort((a, b) => a - b);
  let shortest = Number.POSITIVE_INFINITY;
  const tryRun = async (run: number, tries: number): Promise<boolean> => {
    const pattern = await stock.fit(field, at(run), effort, tries, (most) => {
      // What came of it may do with a longer run, often the shortest of all for pieces of one kind.
      const longer = need.reduce((r, n, i) => (n > 0 ? Math.max(r, Math.ceil(n / (most.counts[i] as number))) : r), 1);
      if (Number.isFinite(longer)) {
        keeper.offer([{ pattern: most, run: longer }]);
        if (longer < shortest) shortest = longer;
      }
    });
    if (pattern) {
      keeper.offer([{ pattern, run }]);
      if (run < shortest) shortest = run;
    }
    return pattern !== undefined;
  };
  // Up to 72 % of a sheet is easy: look there first, then halve.
  let low = 0;
  let high = sorted.length;
  let probe = sorted.findIndex((r) => areaAt(r) <= 0.72 * room);
  if (probe < 0) probe = high - 1;
  for (let probes = 0; low < high && !(over.aborted && keeper.best && probes >= SURE); probes++) {
    if (search.signal?.aborted && keeper.best) break;
    if (await tryRun(sorted[probe] as number, 1)) high = probe;
    else low = probe + 1;
    while (high > low && (sorted[high - 1] as number) >= shortest) high--;
    probe = (low + high) >> 1;
  }
  // Shorter runs yet, from more starts, until they no longer close; where some footprints must come out exactly, cheap runs
  // may also lie among the longer ones.
  const exacting = exact.some((e, i) => e && (need[i] as number) > 0);
  const cheaper = (exacting ? sorted : sorted.slice(0, high))
    .filter((r) => areaAt(r) <= CLOSES * room)
    .sort((a, b) => (exacting ? areaAt(a) - areaAt(b) : b - a));
  let failed = 0;
  for (const run of cheaper) {
    if (failed >= 3 || over.aborted) break;
    if (costs.sheetChange * run + costs.newLayout >= keeper.price) continue;
    failed = (await tryRun(run, STARTS[effort])) ? 0 : failed + 1;
  }
};

/** Runs tried however long it takes: the first one is a guess at how many pieces a sheet takes. */
const SURE = 6;
/** Share of a sheet beyond which no layout of mixed pieces was ever found. */
const CLOSES = 0.9;
/** Starts of the search for a layout that would make a cheaper plan. */
const STARTS: Record<Effort, number> = { quick: 3, normal: 6, best: 16 };

/** Every footprint once, over as many sheets as that takes, each printed for its greatest need: lawful whatever the numbers. */
const onceEach = async (search: Search, { need }: Quota, kinds: readonly number[]): Promise<Geometry[]> => {
  const { stock } = search;
  const once = need.map((n) => (n > 0 ? 1 : 0));
  const patterns = await stock.spread(once, "quick", search.threads, search.signal);
  return patterns.map((pattern) => ({
    pattern,
    run: kinds.reduce((r, i) => ((pattern.counts[i] as number) > 0 ? Math.max(r, need[i] as number) : r), 0),
  }));
};

/**
 * A given number of geometries. The contents are planned in the belief that a sheet holds so much area. What could not be laid
 * is made up for by exchanges; where that is not enough, its pieces count for more the next time. False when not even the plan
 * finds room for every footprint.
 */
const severalGeometries = async (
  search: Search,
  quota: Quota,
  kinds: readonly number[],
  layouts: number,
  size: number[],
  keeper: Keeper,
  over: Stop,
): Promise<boolean> => {
  const { stock, effort, costs } = search;
  const { field, need } = quota;
  const demand = kinds.map((i) => need[i] as number);
  // Where each piece laid by itself is there already and hard to beat, laying dozens of kinds again and again would take long
  // for nothing.
  const share = keeper.best && costs.newLayout < costs.sheetChange ? Math.min(1, (FEW / kinds.length) ** 2) : 1;
  // Equal places are laid at once, and `annealContents` plans them best; of unlike ones it is lost.
  const alike = kinds.every(
    (i) => Math.abs((stock.area[i] as number) / (stock.area[kinds[0] as number] as number) - 1) < 1e-3,
  );
  // More is at stake where there is more to print.
  const pieces = demand.reduce((a, b) => a + b, 0);
  const weight = 1 + Math.min(pieces, 1000) / 1500;
  const rounds = Math.max(2, Math.round(share * ROUNDS[effort] * (alike ? 2 : 1) * weight));
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
        iterations: Math.ceil(share * MOVES[effort]),
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
      const pattern = await stock.most(field, counts, effort);
      tried.push(pattern);
      if (kinds.some((i) => (pattern.counts[i] as number) < (counts[i] as number))) missed = true;
    }
    const exchange = missed ? stock.exchanger(field, seed, aborted) : undefined;
    const { patterns, enough: repaired } = exchange
      ? refine(
          { patterns: tried, runs: contents.runs },
          {
            need,
            exact: quota.exact,
            area: stock.area,
            room: stock.room[field] as number,
            exchange,
            moves: REFINING[effort],
            seed,
            aborted,
          },
        )
      : { patterns: tried, enough: !missed };
    // The first belief is far too good.
    if (!repaired) enlarge(size, contents.counts, kinds, patterns, stock.area, round === 0 ? 0.9 : 0.5);
    // What is on none of them after all goes onto sheets of its own: the plan is dear, but it is one.
    const absent = need.map((n, i) => (n > 0 && patterns.every((p) => p.counts[i] === 0) ? 1 : 0));
    if (absent.some((n) => n > 0) && (round === rounds - 1 || !keeper.best))
      patterns.push(...(await stock.spread(absent, "quick", search.threads, search.signal)));
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
    const laid = areaBy((k) => (patterns[j] as Pattern).counts[kinds[k] as number] as number);
    return asked > laid ? 1 + Math.max(0.01, trust * (asked / Math.max(laid, 1) - 1)) : 1;
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

/** Share of a sheet's area that the first round believes in: only rectangles reach it, but those do. */
const HOPE = 1;

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
