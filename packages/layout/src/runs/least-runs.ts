import { DualTableau } from "./simplex.ts";

/**
 * Least run lengths for given layouts. A piece that only one layout makes bounds that layout's run by itself; only pieces shared
 * between layouts need the linear programme. With few places a layout (cover printing) that leaves a handful of columns, and
 * 300,000 to 2,000,000 answers a second.
 */
export class LeastRuns {
  readonly runs: Float64Array;
  private readonly items: number;
  private readonly layouts: number;
  private readonly tableau: DualTableau;
  private readonly floor: Float64Array;
  private readonly shared: Int32Array;

  constructor(layouts: number, items: number) {
    this.layouts = layouts;
    this.items = items;
    // The branching below adds one ceiling a layout.
    this.tableau = new DualTableau(layouts, items + layouts);
    this.runs = new Float64Array(layouts);
    this.floor = new Float64Array(layouts);
    this.shared = new Int32Array(items);
  }

  /**
   * Least sum of runs (a fraction may remain), above `limit` as soon as that is certain, `Infinity` when a piece has no place.
   * `counts[j * items + i]`: places of piece i on layout j. Whole minimum runs are used where one layout alone makes a piece.
   */
  relaxed(counts: Int32Array, demand: Float64Array, limit = Number.POSITIVE_INFINITY): number {
    const { items, layouts, floor, shared } = this;
    floor.fill(0);
    let several = 0;
    for (let i = 0; i < items; i++) {
      let only = -1;
      for (let j = 0; j < layouts; j++) {
        if ((counts[j * items + i] as number) > 0) {
          if (only >= 0) {
            only = -2;
            break;
          }
          only = j;
        }
      }
      if (only === -2) shared[several++] = i;
      else if (only >= 0) {
        const least = Math.ceil((demand[i] as number) / (counts[only * items + i] as number));
        if (least > (floor[only] as number)) floor[only] = least;
      } else if ((demand[i] as number) > 0) return Number.POSITIVE_INFINITY;
    }
    return this.above(counts, demand, several, limit, undefined);
  }

  private above(
    counts: Int32Array,
    demand: Float64Array,
    several: number,
    limit: number,
    ceiling: Float64Array | undefined,
  ): number {
    const { items, layouts, floor, shared, tableau, runs } = this;
    let sum = 0;
    for (let j = 0; j < layouts; j++) sum += floor[j] as number;
    if (sum > limit) return sum;
    tableau.reset();
    let columns = 0;
    for (let s = 0; s < several; s++) {
      const i = shared[s] as number;
      let short = demand[i] as number;
      for (let j = 0; j < layouts; j++) short -= (counts[j * items + i] as number) * (floor[j] as number);
      if (short <= 0) continue;
      const c = tableau.add(short);
      columns++;
      for (let j = 0; j < layouts; j++) {
        const n = counts[j * items + i] as number;
        if (n > 0) tableau.put(c, j, n);
      }
    }
    if (columns === 0) {
      for (let j = 0; j < layouts; j++) runs[j] = floor[j] as number;
      return sum;
    }
    if (ceiling) {
      for (let j = 0; j < layouts; j++) {
        if ((ceiling[j] as number) < Number.POSITIVE_INFINITY) {
          const c = tableau.add((floor[j] as number) - (ceiling[j] as number));
          tableau.put(c, j, -1);
        }
      }
    }
    const rest = tableau.solve(limit - sum);
    for (let j = 0; j < layouts; j++) runs[j] = (floor[j] as number) + (tableau.runs[j] as number);
    return sum + rest;
  }

  /**
   * Least whole runs, by branching on the relaxed ones; undefined when none is below `better`.
   * `nodes` limits the branching: past it the best so far is given (whole runs are always found by rounding up).
   */
  whole(
    counts: Int32Array,
    demand: Float64Array,
    better = Number.POSITIVE_INFINITY,
    nodes = 400,
  ): { sum: number; runs: number[] } | undefined {
    const first = this.relaxed(counts, demand);
    if (!(Math.ceil(first - 1e-7) < better)) return undefined;
    let several = 0;
    for (let i = 0; i < this.items; i++) {
      let on = 0;
      for (let j = 0; j < this.layouts; j++) if ((counts[j * this.items + i] as number) > 0) on++;
      if (on > 1) several++;
    }
    const floors = Float64Array.from(this.floor);
    let best = better;
    let answer: number[] | undefined;
    let left = nodes;
    const visit = (low: Float64Array, high: Float64Array): void => {
      if (left-- <= 0) return;
      this.floor.set(low);
      for (let j = 0; j < this.layouts; j++) if ((low[j] as number) > (high[j] as number)) return;
      const value = this.above(counts, demand, several, Number.POSITIVE_INFINITY, high);
      if (!(Math.ceil(value - 1e-7) < best)) return;
      const runs = Array.from(this.runs);
      let worst = -1;
      let fraction = 1e-6;
      for (let j = 0; j < this.layouts; j++) {
        const r = runs[j] as number;
        const off = Math.abs(r - Math.round(r));
        if (off > fraction) {
          fraction = off;
          worst = j;
        }
      }
      const rounded = lowered(
        counts,
        demand,
        this.items,
        runs.map((r) => Math.ceil(r - 1e-6)),
      );
      const sum = rounded.reduce((a, b) => a + b, 0);
      if (sum < best && suffices(counts, demand, this.items, rounded)) {
        best = sum;
        answer = rounded;
      }
      if (worst < 0) return;
      const cut = Math.floor(runs[worst] as number);
      const up = Float64Array.from(low);
      up[worst] = cut + 1;
      const down = Float64Array.from(high);
      down[worst] = cut;
      visit(up, high);
      visit(low, down);
    };
    visit(floors, new Float64Array(this.layouts).fill(Number.POSITIVE_INFINITY));
    return answer && { sum: best, runs: answer };
  }

  /** What one more copy of every piece would cost in sheets, after `relaxed` (only shared pieces that bind have a price). */
  bindings(counts: Int32Array, demand: Float64Array, out: Float64Array): void {
    const { items, layouts, runs } = this;
    for (let i = 0; i < items; i++) {
      let made = 0;
      for (let j = 0; j < layouts; j++) made += (counts[j * items + i] as number) * (runs[j] as number);
      out[i] = made - (demand[i] as number);
    }
  }
}

/** True when the runs make every piece often enough. */
export const suffices = (counts: Int32Array, demand: Float64Array, items: number, runs: readonly number[]): boolean => {
  for (let i = 0; i < items; i++) {
    let made = 0;
    for (let j = 0; j < runs.length; j++) made += (counts[j * items + i] as number) * (runs[j] as number);
    if (made < (demand[i] as number) - 1e-9) return false;
  }
  return true;
};

/** Whole runs made as short as they may be one after another, the layout with the most to lose first. */
const lowered = (counts: Int32Array, demand: Float64Array, items: number, runs: readonly number[]): number[] => {
  const out = [...runs];
  const spare = new Float64Array(items);
  for (let i = 0; i < items; i++) {
    let made = 0;
    for (let j = 0; j < out.length; j++) made += (counts[j * items + i] as number) * (out[j] as number);
    spare[i] = made - (demand[i] as number);
  }
  const slack = (j: number): number => {
    let least = out[j] as number;
    for (let i = 0; i < items; i++) {
      const n = counts[j * items + i] as number;
      if (n > 0) least = Math.min(least, Math.floor((spare[i] as number) / n));
    }
    return least;
  };
  for (;;) {
    let pick = -1;
    let most = 0;
    for (let j = 0; j < out.length; j++) {
      const s = slack(j);
      if (s > most) {
        most = s;
        pick = j;
      }
    }
    if (pick < 0) return out;
    out[pick] = (out[pick] as number) - most;
    for (let i = 0; i < items; i++) spare[i] = (spare[i] as number) - most * (counts[pick * items + i] as number);
  }
};
