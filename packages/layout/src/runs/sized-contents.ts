import { type Dice, diceOf } from "./dice.ts";
import { type AnnealOptions, bound, type Contents, type ContentsProblem, rowsOf } from "./contents.ts";
import { startOf } from "./contents-start.ts";
import { LeastRuns } from "./least-runs.ts";

/** Parts of what a place makes on the average: how much shorter a trial may leave the plan, to begin with and at the end. */
const HOT = 0.5;
const COLD = 0.005;
/** Targets are not halved any finer than this part of the sheets. */
const FINE = 0.002;
const SLACK = 1e-9;

/**
 * Which trials how often: one more place, a place for another piece, two places of two layouts exchanged, a place given up;
 * else sheets of one layout for as many of another.
 */
const ADD = 0.3;
const CHANGE = 0.65;
const SWAP = 0.85;
const DROP = 0.96;

/**
 * Contents and runs with few sheets for pieces of unlike sizes. The runs are given and what they leave short, in sheets, is
 * annealed away: every place counts at once. (The sheets themselves as a measure, as in `annealContents`, do not say which of
 * two plans is nearer to a better one: of 60 pieces a few set all runs, and the search drifts off.) How few sheets will do is
 * found by halving. Undefined when the pieces do not fit or nothing is better than asked.
 */
export const sizedContents = (problem: ContentsProblem, options: AnnealOptions): Contents | undefined => {
  const state = startOf(problem, options.start);
  if (!state) return undefined;
  const { layouts } = problem;
  const items = problem.demand.length;
  const demand = Float64Array.from(problem.demand);
  const solver = new LeastRuns(layouts, items);
  const first = solver.whole(state.counts, demand);
  if (!first) return undefined;
  const wanted = options.better ?? Number.POSITIVE_INFINITY;
  const dice = diceOf(options.seed);
  let best = new Tally(problem, state.counts, first.runs);
  let sheets = first.sum;
  let low = Math.max(layouts, Math.ceil(bound(problem) - 1e-9));
  let high = Math.min(sheets, wanted);
  while (low < high && !(options.signal?.aborted ?? false)) {
    const target = low + ((high - low) >> 1);
    const tally = best.shortened(target);
    if (worked(tally, dice, options.iterations)) {
      // Its branching is limited: on many layouts it may end at longer runs than those that do.
      const whole = solver.whole(tally.counts, demand);
      const runs = whole && whole.sum <= target ? whole.runs : tally.runs;
      best = new Tally(problem, tally.counts, runs);
      sheets = runs.reduce((a, b) => a + b, 0);
      high = sheets;
    } else low = Math.max(target + 1, low + Math.ceil(FINE * target));
  }
  return sheets < wanted ? { counts: rowsOf(best.counts, layouts, items), runs: best.runs, sheets } : undefined;
};

/** Contents with given runs, and what they make. */
class Tally {
  readonly problem: ContentsProblem;
  readonly counts: Int32Array;
  readonly runs: number[];
  readonly used: Float64Array;
  readonly made: Float64Array;
  /** Size that is short, in all. */
  short = 0;

  constructor(problem: ContentsProblem, counts: Int32Array, runs: readonly number[]) {
    this.problem = problem;
    this.counts = counts.slice();
    this.runs = [...runs];
    const { layouts, size, demand } = problem;
    const n = demand.length;
    this.used = Float64Array.from({ length: layouts }, (_, j) =>
      size.reduce((sum, s, i) => sum + s * (counts[j * n + i] as number), 0),
    );
    this.made = new Float64Array(n);
    this.recount();
  }

  recount(): void {
    const { layouts, demand } = this.problem;
    const n = demand.length;
    this.short = 0;
    for (let i = 0; i < n; i++) {
      let made = 0;
      for (let j = 0; j < layouts; j++) made += (this.counts[j * n + i] as number) * (this.runs[j] as number);
      this.made[i] = made;
      this.short += this.shortOf(i, made);
    }
  }

  shortOf(i: number, made: number): number {
    return Math.max(0, (this.problem.demand[i] as number) - made) * (this.problem.size[i] as number);
  }

  /** What `by` more places of piece i on layout j add to the shortage. */
  change(i: number, by: number, run: number): number {
    const made = this.made[i] as number;
    return this.shortOf(i, made + by * run) - this.shortOf(i, made);
  }

  put(j: number, i: number, by: number): void {
    const at = j * this.problem.demand.length + i;
    this.counts[at] = (this.counts[at] as number) + by;
    this.used[j] = (this.used[j] as number) + by * (this.problem.size[i] as number);
    this.made[i] = (this.made[i] as number) + by * (this.runs[j] as number);
  }

  /** The same contents on `target` sheets in all, the runs in proportion. */
  shortened(target: number): Tally {
    const sum = this.runs.reduce((a, b) => a + b, 0);
    const exact = this.runs.map((r) => (r * target) / sum);
    const runs = exact.map((r) => Math.max(1, Math.floor(r)));
    let left = target - runs.reduce((a, b) => a + b, 0);
    while (left !== 0) {
      const by = Math.sign(left);
      // The one farthest from its share gives or takes.
      let pick = -1;
      runs.forEach((r, j) => {
        if (by < 0 && r <= 1) return;
        const off = by * ((exact[j] as number) - r);
        if (pick < 0 || off > by * ((exact[pick] as number) - (runs[pick] as number))) pick = j;
      });
      if (pick < 0) break;
      runs[pick] = (runs[pick] as number) + by;
      left -= by;
    }
    return new Tally(this.problem, this.counts, runs);
  }
}

/** Anneals the shortage of a tally away; true when nothing is short. */
const worked = (tally: Tally, dice: Dice, iterations: number): boolean => {
  const { problem, counts, runs, used } = tally;
  const { layouts, size, capacity, most, demand } = problem;
  const n = demand.length;
  const mean = size.reduce((a, b) => a + b, 0) / n;
  const unit = (mean * runs.reduce((a, b) => a + b, 0)) / layouts;
  let heat = HOT * unit;
  const cooling = (COLD / HOT) ** (1 / iterations);
  const fits = (j: number, grow: number): boolean => (used[j] as number) + grow <= capacity + SLACK;
  const free = (j: number, i: number): boolean => (counts[j * n + i] as number) < (most[i] as number);
  /** A piece of the layout, places counted as often as they are; -1 when it is empty. */
  const pieceOn = (j: number): number => {
    let all = 0;
    for (let i = 0; i < n; i++) all += counts[j * n + i] as number;
    if (all === 0) return -1;
    let k = dice.below(all);
    for (let i = 0; i < n; i++) {
      k -= counts[j * n + i] as number;
      if (k < 0) return i;
    }
    return -1;
  };
  for (let k = 0; k < iterations && tally.short > SLACK; k++, heat *= cooling) {
    const j = dice.below(layouts);
    const run = runs[j] as number;
    const what = dice.next();
    const allowed = -heat * Math.log(1 - dice.next());
    if (what < ADD) {
      const v = dice.below(n);
      if (!free(j, v) || !fits(j, size[v] as number)) continue;
      tally.short += tally.change(v, 1, run);
      tally.put(j, v, 1);
      continue;
    }
    if (what < CHANGE) {
      const u = pieceOn(j);
      const v = dice.below(n);
      if (u < 0 || u === v || !free(j, v) || !fits(j, (size[v] as number) - (size[u] as number))) continue;
      const by = tally.change(u, -1, run) + tally.change(v, 1, run);
      if (by > allowed) continue;
      tally.short += by;
      tally.put(j, u, -1);
      tally.put(j, v, 1);
      continue;
    }
    if (what < SWAP) {
      if (layouts < 2) continue;
      const l = (j + 1 + dice.below(layouts - 1)) % layouts;
      const u = pieceOn(j);
      const v = pieceOn(l);
      if (u < 0 || v < 0 || u === v || !free(j, v) || !free(l, u)) continue;
      const grow = (size[v] as number) - (size[u] as number);
      if (!fits(j, grow) || !fits(l, -grow)) continue;
      const more = (runs[l] as number) - run;
      const by = tally.change(u, 1, more) + tally.change(v, -1, more);
      if (by > allowed) continue;
      tally.short += by;
      tally.put(j, u, -1);
      tally.put(j, v, 1);
      tally.put(l, v, -1);
      tally.put(l, u, 1);
      continue;
    }
    if (what < DROP) {
      const u = pieceOn(j);
      if (u < 0) continue;
      const by = tally.change(u, -1, run);
      if (by > allowed) continue;
      tally.short += by;
      tally.put(j, u, -1);
      continue;
    }
    if (layouts < 2 || run <= 1) continue;
    const l = (j + 1 + dice.below(layouts - 1)) % layouts;
    const was = tally.short;
    const step = 1 + dice.below(Math.max(1, Math.floor(0.1 * run)));
    if (step >= run) continue;
    runs[j] = run - step;
    runs[l] = (runs[l] as number) + step;
    tally.recount();
    if (tally.short - was > allowed) {
      runs[j] = run;
      runs[l] = (runs[l] as number) - step;
      tally.recount();
    }
  }
  tally.recount();
  return tally.short <= SLACK;
};
