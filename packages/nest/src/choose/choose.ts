import type { Catalogue } from "../maps/catalogue.ts";
import { countsOf } from "./enrich.ts";
import { type Layout, type SheetPieces, sheetsOf, stacked } from "../pack/layout.ts";
import type { Task } from "../pack/perform.ts";
import { type Counts, Prices } from "./price.ts";
import { without } from "../search/squeeze.ts";

/** Rounds of new sheets before the first one is chosen, and the fraction of all moves that they get. */
const ROUNDS = 6;
const FIRST = 0.7;
/** Searches of a round, each with prices of its own: part of the effort, so never the number of threads. */
const SEARCHES = 2;
/** Sheets that a search gets to start from. */
const STARTS = 400;
/** Parts of the sheets still wanted that are chosen at once before the prices of the rest are asked anew. */
const STEPS = [0.2, 0.02, 0.1, 0.35];

/** What the answer in whole sheets may cost beyond the one with fractions. */
const MARGIN = 0.3;

interface Known {
  readonly sheet: SheetPieces;
  readonly counts: Counts;
}

/** Sheets known, and what the pieces still wanted are worth by them. */
interface Priced {
  readonly collection: Known[];
  readonly prices: Prices;
}

/** The sheet with no more pieces of a kind than are wanted. */
const trimmed = (sheet: SheetPieces, need: readonly number[]): SheetPieces => {
  const left = [...need];
  const gone: number[] = [];
  sheet.kinds.forEach((k, i) => {
    left[k] = left[k] - 1;
    if (left[k] < 0) gone.push(i);
  });
  return gone.length > 0 ? without(sheet, gone) : sheet;
};

/** Different sheets, as far as `need` goes. */
const known = (sheets: readonly SheetPieces[], need: readonly number[]): Known[] => {
  const found = new Map<string, Known>();
  for (const whole of sheets) {
    const sheet = trimmed(whole, need);
    if (sheet.ids.length === 0) continue;
    const counts = countsOf(sheet.kinds, need.length);
    const key = `${sheet.field}:${counts.join()}`;
    if (!found.has(key)) found.set(key, { sheet, counts });
  }
  return [...found.values()];
};

/**
 * Sheets for all pieces out of a growing collection of possible ones: the collection is enriched by the prices of the pieces, the
 * sheets most wanted are chosen, the rest is priced anew, and so on until nothing is left. Half chosen sheets are what makes
 * the answer in whole sheets more expensive than the one with fractions; by then the collection knows many others. The layout itself
 * where there is no hope to save a sheet.
 */
export const choose = async (
  catalogue: Catalogue,
  layout: Layout,
  seed: number,
  moves: number,
  run: (tasks: Task[]) => Promise<Layout[]>,
  report: (fraction: number) => void,
): Promise<Layout> => {
  const wish = [...countsOf(layout.kinds, catalogue.kinds.length)];
  let need = [...wish];
  let sheets = sheetsOf(layout);
  let asked = 0;
  /** Sheets that the pieces wanted would need by the collection, with fractions. */
  const priced = (): Priced => {
    const prices = new Prices(need);
    const collection = known(sheets, need);
    prices.solve(collection.map((k) => k.counts));
    return { collection, prices };
  };
  /** Enriches the collection. */
  const grow = async ({ collection, prices }: Priced, granted: number): Promise<void> => {
    const worth = new Map(collection.map((k) => [k, prices.worth(k.counts)]));
    const starts = stacked(
      [...collection]
        .sort((a, b) => (worth.get(b) ?? 0) - (worth.get(a) ?? 0))
        .slice(0, STARTS)
        .map((k) => k.sheet),
    );
    const found = await run(
      Array.from({ length: SEARCHES }, () => ({
        layout: starts,
        need: [...need],
        seed: seed * 1013 + ++asked,
        moves: Math.ceil(granted / SEARCHES),
        way: "enrich" as const,
      })),
    );
    sheets = [...sheets, ...found.flatMap(sheetsOf)];
  };
  let total = Infinity;
  let now = priced();
  for (let round = 1; round <= ROUNDS; round++) {
    await grow(now, (moves * FIRST) / ROUNDS);
    const before = total;
    now = priced();
    total = now.prices.total();
    report((FIRST * round) / ROUNDS);
    // Every round gains less than the one before: even equal gains would lead no further than this.
    const hope = Math.ceil(round > 1 ? total - (before - total) * (ROUNDS - round) - 1e-6 : 0);
    if (hope >= layout.fields.length) return layout;
    if (hope >= total + MARGIN) break;
  }
  const all = layout.kinds.length;
  let best: SheetPieces[] | undefined;
  // Choosing finds new sheets on its way. With what is known at the end, other steps may lead further.
  for (const step of STEPS) {
    const chosen: SheetPieces[] = [];
    need = [...wish];
    for (let left = all; left > 0 && chosen.length < (best?.length ?? Infinity); ) {
      const taken = wanted(priced(), need, step);
      for (const sheet of taken) for (const k of sheet.kinds) need[k] = need[k] - 1;
      chosen.push(...taken);
      const gone = taken.reduce((sum, sheet) => sum + sheet.kinds.length, 0);
      left -= gone;
      if (best) continue;
      if (left > 0) await grow(priced(), moves * (1 - FIRST) * (gone / all));
      report(FIRST + (1 - FIRST) * (1 - left / all));
    }
    if (chosen.length < (best?.length ?? Infinity)) best = chosen;
  }
  return assigned(layout, best ?? []);
};

/** The sheets that the prices' answer has most of, whole ones only but for the first: at least one, at most that part of all. */
const wanted = ({ collection, prices }: Priced, need: readonly number[], step: number): SheetPieces[] => {
  const left = [...need];
  const most = Math.max(1, Math.ceil(step * prices.total()));
  const taken: SheetPieces[] = [];
  for (const [counts, times] of [...prices.uses()].sort((a, b) => b[1] - a[1])) {
    if (taken.length > 0 && times < 0.5) break;
    // Of a kind that costs nothing the answer may hold the single piece it began with: any sheet that has one will do.
    const { sheet } = collection.find((k) => k.counts.every((n, i) => n >= counts[i])) as Known;
    for (let n = Math.max(1, Math.floor(times)); n > 0 && taken.length < most; n--) {
      const some = trimmed(sheet, left);
      if (some.kinds.length < (taken.length > 0 ? sheet.kinds.length : 1)) break;
      taken.push(some);
      for (const k of some.kinds) left[k] = left[k] - 1;
    }
  }
  return taken;
};

/** Those sheets with the pieces of the request on them; what is on none of them is on no sheet. */
const assigned = (layout: Layout, chosen: readonly SheetPieces[]): Layout => {
  const waiting = new Map<number, number[]>();
  layout.kinds.forEach((k, i) => {
    const list = waiting.get(k);
    if (list) list.push(i);
    else waiting.set(k, [i]);
  });
  const sheet = layout.kinds.map(() => -1);
  const pose = [...layout.pose];
  const x = [...layout.x];
  const y = [...layout.y];
  chosen.forEach((s, at) => {
    s.kinds.forEach((k, q) => {
      const i = waiting.get(k)?.shift() as number;
      sheet[i] = at;
      pose[i] = s.pose[q];
      x[i] = s.x[q];
      y[i] = s.y[q];
    });
  });
  return { fields: chosen.map((s) => s.field), kinds: layout.kinds, sheet, pose, x, y };
};
