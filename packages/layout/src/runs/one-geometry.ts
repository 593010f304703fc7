import type { Effort } from "@kitforme/nest";
import type { Stop } from "./contents.ts";
import type { Keeper } from "./keeper.ts";
import type { Quota, Search } from "./search.ts";

/** All on one geometry: the shortest run whose places, ceil(need / run) of every footprint, can be laid. */
export const oneGeometry = async (search: Search, quota: Quota, keeper: Keeper, over: Stop): Promise<void> => {
  const { book, costs, effort } = search;
  const { need, exact, field } = quota;
  const at = (run: number): number[] => need.map((n) => Math.ceil(n / run));
  const areaAt = (run: number): number => at(run).reduce((sum, n, i) => sum + n * (book.area[i] as number), 0);
  const most = need.reduce((a, b) => Math.max(a, b), 1);
  const room = book.room[field] as number;
  if (areaAt(most) > room) return;
  // Only runs at which some count of places changes are worth a trial.
  const runs = new Set<number>();
  need.forEach((n, i) => {
    const places = Math.floor(room / (book.area[i] as number));
    for (let k = 1; k <= Math.min(n, places); k++) runs.add(Math.ceil(n / k));
  });
  const sorted = [...runs].filter((r) => areaAt(r) <= room).sort((a, b) => a - b);
  let shortest = Number.POSITIVE_INFINITY;
  const tryRun = async (run: number, tries: number): Promise<boolean> => {
    const pattern = await book.fit(field, at(run), effort, tries, (most) => {
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
