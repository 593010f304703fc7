import type { Effort } from "@kitforme/nest";
import type { Stop } from "./contents.ts";
import { equalPieces, ownSheets } from "./equal-pieces.ts";
import { Keeper } from "./keeper.ts";
import { oneGeometry } from "./one-geometry.ts";
import { rectangleSheet } from "./rectangle-sheet.ts";
import { type Geometry, type Quota, type Search, sheetsOf } from "./search.ts";
import { severalGeometries } from "./several-geometries.ts";

/** Pieces that may be laid in search of a better plan, more for larger jobs. The first valid plan is always finished. */
const PATIENCE: Record<Effort, number> = { quick: 150, normal: 1800, best: 12_000 };
/**
 * Geometries and runs for one field, at least `sheetChange * sheets + newLayout * geometries`. Several ways are tried and the
 * cheapest kept: equal pieces in rows, all on one geometry (rectangles also by cuts from edge to edge), several geometries by annealing over contents whose sizes are corrected by what can
 * really be laid, and every piece laid once over as many sheets as that takes.
 */
export const geometriesFor = async (search: Search, quota: Quota): Promise<Geometry[]> => {
  const { book, costs, effort, signal } = search;
  const kinds = quota.need.flatMap((n, i) => (n > 0 ? [i] : []));
  if (kinds.length === 0) return [];
  const pieces = quota.need.reduce((a, b) => a + b, 0);
  const patience = PATIENCE[effort] * (1 + Math.min(pieces, 3000) / 400);
  const limit = book.spent + patience;
  const keeper = new Keeper(search, quota);
  const over: Stop = {
    get aborted() {
      return book.spent > limit || (signal?.aborted ?? false);
    },
  };
  const wanted = kinds.reduce((sum, i) => sum + (quota.need[i] as number) * (book.area[i] as number), 0);
  const least = Math.max(1, Math.ceil(wanted / (book.room[quota.field] as number) - 1e-9));
  const before = book.spent;
  const doneAt = (spent: number): number => Math.min(1, (spent - before) / patience);
  book.onLaid = () => {
    search.onProgress?.(doneAt(book.spent), keeper.best ? sheetsOf(keeper.best) : 0);
  };
  const equal = await equalPieces(search, quota, kinds);
  keeper.offer(equal.plan);
  // So many to a sheet are not laid one by one in the hope of one more.
  if (keeper.best && equal.places > CROWD) return keeper.best;
  if (equal.places === 0) keeper.offer(ownSheets(search, quota, kinds));
  await oneGeometry(search, quota, keeper, over);
  const byCuts = rectangleSheet(search, quota, kinds, keeper.price);
  if (byCuts) keeper.offer([byCuts]);
  const flat = async (): Promise<void> => {
    if (pieces > FLAT_PIECES || least * (costs.sheetChange + costs.newLayout) >= keeper.price) return;
    if (signal?.aborted && keeper.best) return;
    const from = doneAt(book.spent);
    const patterns = await book.spread(
      quota.need,
      pieces <= 600 ? effort : "quick",
      search.threads,
      signal,
      (done, sheets) => {
        const known = keeper.best ? sheetsOf(keeper.best) : Infinity;
        search.onProgress?.(from + done * (doneAt(book.spent) - from), Math.min(known, sheets));
      },
    );
    keeper.offer(patterns.map((pattern) => ({ pattern, run: 1 })));
  };
  // Where layouts cost next to nothing every piece by itself is hard to beat; where they cost, it only comes last.
  const cheapLayouts = costs.newLayout < costs.sheetChange;
  if (cheapLayouts) await flat();
  // Share of a sheet that each footprint seems to take: what one number of layouts taught, the next ones know.
  // The first belief is the whole sheet: only rectangles reach it, but those do.
  const size = kinds.map((i) => (book.area[i] as number) / (book.room[quota.field] as number));
  let idle = 0;
  for (let layouts = 2; layouts <= kinds.length + 1 && idle < 3 && !(over.aborted && keeper.best); layouts++) {
    // Every layout is printed at least once.
    if (costs.sheetChange * Math.max(least, layouts) + costs.newLayout * layouts >= keeper.price) break;
    const priceBefore = keeper.price;
    const possible = await severalGeometries(search, quota, kinds, layouts, size, keeper, over);
    if (possible && keeper.best) idle = keeper.price < priceBefore ? 0 : idle + 1;
  }
  if (!cheapLayouts) await flat();
  if (!keeper.best) keeper.offer(await onceEach(search, quota, kinds));
  return keeper.best ?? [];
};

/** Equal pieces on one sheet beyond which their rows are the plan, without another search. */
const CROWD = 200;

/** Pieces up to which every single piece is laid by itself. */
const FLAT_PIECES = 6_000;

/** Every footprint once, over as many sheets as that takes, each printed for its greatest need: valid whatever the numbers. */
const onceEach = async (search: Search, { need }: Quota, kinds: readonly number[]): Promise<Geometry[]> => {
  const { book } = search;
  const once = need.map((n) => (n > 0 ? 1 : 0));
  const patterns = await book.spread(once, "quick", search.threads, search.signal);
  return patterns.map((pattern) => ({
    pattern,
    run: kinds.reduce((r, i) => ((pattern.counts[i] as number) > 0 ? Math.max(r, need[i] as number) : r), 0),
  }));
};
