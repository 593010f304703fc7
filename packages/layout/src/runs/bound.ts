import type { Plan } from "../footprint.ts";
import type { Costs } from "./search.ts";
import type { PatternBook } from "./pattern-book.ts";

/**
 * What no plan can beat. Sheets: all shapes' area over what a sheet offers. Cost: on one layout the run must leave room for
 * ceil(need / run) places of every footprint, the sharper bound; with two layouts or more the area bound and their price.
 */
export const boundOf = (
  book: PatternBook,
  costs: Costs,
  need: readonly number[],
  home: readonly number[],
): Plan["bound"] => {
  let sheets = 0;
  let cost = 0;
  // Footprints of different homes may still lie together on the larger sheet if it takes both: one bound over all on the largest room.
  const kinds = need.flatMap((n, i) => (n > 0 && (home[i] as number) >= 0 ? [i] : []));
  if (kinds.length === 0) return { sheets, cost };
  const room = book.room.reduce((a, b) => Math.max(a, b), 0);
  const area = (run: number): number =>
    kinds.reduce((sum, i) => sum + Math.ceil((need[i] as number) / run) * (book.area[i] as number), 0);
  const all = kinds.reduce((sum, i) => sum + (need[i] as number) * (book.area[i] as number), 0);
  sheets = Math.max(1, Math.ceil(all / room - 1e-9));
  let low = sheets;
  let high = kinds.reduce((r, i) => Math.max(r, need[i] as number), 1);
  const alone = area(high) <= room;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (area(mid) <= room) high = mid;
    else low = mid + 1;
  }
  const one = alone ? costs.sheetChange * low + costs.newLayout : Number.POSITIVE_INFINITY;
  cost = Math.min(one, costs.sheetChange * Math.max(sheets, 2) + 2 * costs.newLayout);
  return { sheets, cost };
};
