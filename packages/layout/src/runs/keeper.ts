import { type Geometry, placesOf, priceOf, type Quota, type Search } from "./search.ts";
import { part } from "./pattern-book.ts";

/** Keeps the cheapest plan; of equal ones that with fewest places, so that no place is there for nothing. */
export class Keeper {
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
  return out.filter((g) => g.run > 0 && g.pattern.placed.length > 0);
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
      return less.placed.length > 0 ? [{ pattern: less, run: length }] : [];
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
