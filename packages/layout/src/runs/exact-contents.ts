import type { Contents, Stop } from "./contents.ts";

/** Equal places on two or three layouts, and how many table entries may be filled before giving up. */
export interface ExactOptions {
  readonly layouts: 1 | 2 | 3;
  readonly slots: number;
  readonly demand: readonly number[];
  /** Only fewer sheets than this are wanted. */
  readonly better: number;
  readonly work: number;
  /** Asked before every choice of runs; then what was found so far counts, unproven. */
  readonly signal?: Stop | undefined;
}

/**
 * The least sheets on one to three layouts of equal places, by runs first: for run lengths a >= b >= c a table over the pieces
 * holds the fewest places of the last layout for every use of the others. One pass over a (and b) suffices, because the last run
 * is always the one that would beat the best so far, and only when that is possible is it lowered further.
 * `proven`: nothing below `better` (or below `found`) exists; false when the work ran out first, or the signal stopped it.
 */
export const exactContents = (options: ExactOptions): { readonly found?: Contents; readonly proven: boolean } => {
  const { layouts, slots, demand } = options;
  const least = Math.max(1, Math.ceil(demand.reduce((a, b) => a + b, 0) / slots));
  if ((demand.length + 1) * (slots + 1) ** Math.max(1, layouts - 1) > MOST_ENTRIES) return { proven: false };
  const table = new Table(layouts, slots, demand);
  const meter = { left: options.work };
  let best = options.better;
  let found: Contents | undefined;
  const trial = (head: readonly number[]): void => {
    meter.left--;
    if (options.signal?.aborted) meter.left = 0;
    const used = head.reduce((a, b) => a + b, 0);
    const at = (last: number): Contents | undefined => table.fill([...head, last], meter);
    const cap = Math.min(best - 1 - used, head.at(-1) ?? Number.POSITIVE_INFINITY);
    let low = Math.max(0, least - used);
    if (cap < low) return;
    let good = at(cap);
    if (!good) return;
    let high = cap;
    while (low < high) {
      const mid = (low + high) >> 1;
      const trialled = at(mid);
      if (trialled) {
        good = trialled;
        high = mid;
      } else low = mid + 1;
    }
    found = good;
    best = good.sheets;
  };
  if (layouts === 1) {
    const limit = Math.min(best, 1 + demand.reduce((a, b) => Math.max(a, b), 0) * demand.length);
    best = limit;
    trial([]);
  } else
    for (let a = Math.ceil(least / layouts); a < best && meter.left > 0; a++) {
      if (layouts === 2) trial([a]);
      else
        for (let b = Math.max(0, Math.ceil((least - a) / 2)); b <= Math.min(a, best - 1 - a) && meter.left > 0; b++)
          trial([a, b]);
    }
  return found ? { found, proven: meter.left > 0 } : { proven: meter.left > 0 };
};

const NEVER = 32_000;
/** Entries of a table that are worth their memory: 40 MB. */
const MOST_ENTRIES = 20_000_000;
/** Choices of places looked at for one piece that are not worth counting as work. */
const FREE_CHOICES = 2000;

class Table {
  private readonly rows: Int16Array[];
  private readonly side: number;
  private readonly order: readonly number[];
  private readonly layouts: number;
  private readonly slots: number;
  private readonly demand: readonly number[];
  private readonly total: number;

  constructor(layouts: number, slots: number, demand: readonly number[]) {
    this.layouts = layouts;
    this.slots = slots;
    this.demand = demand;
    this.side = slots + 1;
    this.total = demand.reduce((a, b) => a + b, 0);
    this.order = demand.map((_, i) => i).sort((a, b) => (demand[b] as number) - (demand[a] as number) || a - b);
    this.rows = Array.from(
      { length: demand.length + 1 },
      () => new Int16Array(layouts === 3 ? this.side ** 2 : this.side),
    );
  }

  /** Contents that make everything with these runs, if there are any. */
  fill(runs: readonly number[], meter: { left: number }): Contents | undefined {
    const { slots, side, order, demand, rows, layouts } = this;
    const last = runs.at(-1) as number;
    const first = layouts > 1 ? (runs[0] as number) : 0;
    const second = layouts > 2 ? (runs[1] as number) : 0;
    // A choice that wastes more than all places together can spare is no choice: near the bound few remain.
    meter.left -= 8 * order.length;
    const spare = slots * runs.reduce((a, b) => a + b, 0) - this.total;
    if (spare < 0) return undefined;
    const chosen: Int16Array[] = [];
    (rows[0] as Int16Array).fill(NEVER)[0] = 0;
    let wasted = 0;
    for (let k = 0; k < order.length; k++) {
      meter.left -= 16;
      const choices = choicesOf(demand[order[k] as number] as number, first, second, last, slots, spare);
      meter.left -= Math.max(0, choices.looked - FREE_CHOICES);
      if (choices.triples.length === 0 || meter.left <= 0) return undefined;
      wasted += choices.waste;
      if (wasted > spare) return undefined;
      chosen.push(choices.triples);
    }
    for (let k = 0; k < order.length; k++) {
      const from = rows[k] as Int16Array;
      const to = (rows[k + 1] as Int16Array).fill(NEVER);
      const triples = chosen[k] as Int16Array;
      meter.left -= from.length * (triples.length / 3);
      if (meter.left <= 0) return undefined;
      const width = layouts > 2 ? side : 1;
      for (let t = 0; t < triples.length; t += 3) {
        const a = triples[t] as number;
        const b = triples[t + 1] as number;
        const c = triples[t + 2] as number;
        for (let u = 0; u + a < side; u++)
          for (let v = 0; v + b < width || (width === 1 && v === 0 && b === 0); v++) {
            const value = (from[u * width + v] as number) + c;
            const at = (u + a) * width + v + b;
            if (value < (to[at] as number) && value <= slots) to[at] = value;
          }
      }
    }
    const end = rows[order.length] as Int16Array;
    let at = end.findIndex((value) => value <= slots);
    if (at < 0) return undefined;
    const counts = runs.map(() => demand.map(() => 0));
    const width = layouts > 2 ? side : 1;
    for (let k = order.length - 1; k >= 0; k--) {
      const value = (rows[k + 1] as Int16Array)[at] as number;
      const u = Math.floor(at / width);
      const v = at % width;
      const triples = chosen[k] as Int16Array;
      for (let t = 0; t < triples.length; t += 3) {
        const a = triples[t] as number;
        const b = triples[t + 1] as number;
        const c = triples[t + 2] as number;
        if (a > u || b > v || (rows[k] as Int16Array)[(u - a) * width + v - b] !== value - c) continue;
        const i = order[k] as number;
        if (layouts > 1) (counts[0] as number[])[i] = a;
        if (layouts > 2) (counts[1] as number[])[i] = b;
        (counts[layouts - 1] as number[])[i] = c;
        at = (u - a) * width + v - b;
        break;
      }
    }
    return { counts, runs: [...runs], sheets: runs.reduce((x, y) => x + y, 0) };
  }
}

/** All least sets of places (a, b, c) that make `copies`; `waste` is the least any of them makes too many, `looked` the sets looked at. */
const choicesOf = (
  copies: number,
  first: number,
  second: number,
  last: number,
  slots: number,
  spare: number,
): { triples: Int16Array; waste: number; looked: number } => {
  let looked = 0;
  const out: number[] = [];
  let waste = Number.POSITIVE_INFINITY;
  const mostA = first > 0 ? Math.min(slots, Math.ceil(copies / first)) : 0;
  for (let a = 0; a <= mostA; a++) {
    const afterA = copies - a * first;
    looked++;
    const mostB = second > 0 && afterA > 0 ? Math.min(slots, Math.ceil(afterA / second)) : 0;
    for (let b = 0; b <= mostB; b++) {
      looked++;
      const rest = afterA - b * second;
      if (rest > 0 && last === 0) continue;
      const c = rest > 0 ? Math.ceil(rest / last) : 0;
      if (c > slots) continue;
      const over = a * first + b * second + c * last - copies;
      if (over > spare) continue;
      waste = Math.min(waste, over);
      out.push(a, b, c);
    }
  }
  return { triples: Int16Array.from(out), waste, looked };
};
