import type { Effort, Footprint } from "@kitforme/nest";
import type { Geometry, Quota, Search } from "./search.ts";
import { planRuns } from "./plan-runs.ts";
import type { Pattern, PatternBook } from "./pattern-book.ts";

/** Moves of the search for what goes on how many layouts. */
const MOVES: Record<Effort, number> = { quick: 200_000, normal: 2_000_000, best: 10_000_000 };

/** Fewer places than this on a sheet are left to the general search, which tries each of them. */
const ROWS_FROM = 24;

/** Whether any piece may take the place of any other: one outline in the same turns, however they are printed. */
export const areEqual = (footprints: readonly Footprint[]): boolean => {
  const keys = footprints.map(({ shape, core, turns, axis }) => JSON.stringify([shape, core, turns, axis]));
  return keys.every((key) => key === keys[0]);
};

/** The sheet of a field that takes most pieces of a kind, at most `most`: by rows, or as the general way lays them. */
const fullest = async (
  { book, effort }: Search,
  { field, need }: Quota,
  kind: number,
  most: number,
  several: boolean,
): Promise<Pattern | undefined> => {
  const possible = Math.min(most, Math.floor((book.room[field] as number) / (book.area[kind] as number)));
  if (possible >= ROWS_FROM) return book.full(field, kind, most);
  if (!several || possible < 1) return undefined;
  return book.most(
    field,
    need.map((_, i) => (i === kind ? possible : 0)),
    effort,
  );
};

/**
 * Plans for equal pieces: how many places a sheet has is found once, which piece takes how many of them on how many layouts is
 * the pure problem of `planRuns`. `places`: on a full sheet, 0 when there is no such plan.
 */
export const equalPieces = async (
  search: Search,
  quota: Quota,
  kinds: readonly number[],
): Promise<{ readonly plan: readonly Geometry[]; readonly places: number }> => {
  const { book, costs, effort } = search;
  const none = { plan: [], places: 0 };
  if (!areEqual(kinds.map((i) => book.footprints[i] as Footprint))) return none;
  const demands = kinds.map((i) => quota.need[i] as number);
  const total = demands.reduce((a, b) => a + b, 0);
  const full = await fullest(search, quota, kinds[0] as number, total, kinds.length > 1);
  const places = full?.placed.length ?? 0;
  if (!full || places === 0) return none;
  const found = planRuns({
    slots: places,
    demands,
    cost: { sheet: costs.sheetChange, layout: costs.newLayout },
    iterations: MOVES[effort],
    ...(search.signal ? { signal: search.signal } : {}),
  });
  if (!found) return none;
  const plan = found.counts.map((row, j) => ({
    pattern: shared(book, full, kinds, row),
    run: found.runs[j] as number,
  }));
  return { plan, places };
};

/** The first places of a full sheet, shared out among the kinds: so many to each, one kind after the other along the sheet. */
const shared = (book: PatternBook, full: Pattern, kinds: readonly number[], row: readonly number[]): Pattern => {
  const owners = row.flatMap((n, k) => Array.from({ length: n }, () => kinds[k] as number));
  return book.remember(
    full.field,
    owners.map((footprint, p) => ({ ...(full.placed[p] as Pattern["placed"][number]), footprint })),
  );
};

/**
 * Long runs of unlike pieces: each on sheets of its own, as many to a sheet as it takes. None when a piece does not fill half a
 * sheet, or so few of it go on one that the general way lays them as well.
 */
export const ownSheets = ({ book }: Search, { field, need }: Quota, kinds: readonly number[]): readonly Geometry[] => {
  const room = book.room[field] as number;
  const wanted = (i: number): number => need[i] as number;
  const area = (i: number): number => book.area[i] as number;
  if (!kinds.every((i) => area(i) * ROWS_FROM <= room && 2 * wanted(i) * area(i) >= room)) return [];
  return kinds.map((i) => {
    const pattern = book.full(field, i, wanted(i));
    return { pattern, run: Math.ceil(wanted(i) / Math.max(1, pattern.placed.length)) };
  });
};
