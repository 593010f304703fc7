import { type Dice, diceOf } from "./dice.ts";
import { LeastRuns } from "./least-runs.ts";

/** What goes on a given number of layouts: pieces with a size, layouts that hold so much size, copies wanted. */
export interface ContentsProblem {
  readonly layouts: number;
  /** Copies wanted of every piece. */
  readonly demand: readonly number[];
  /** Size of one place of every piece; all 1 for equal places. */
  readonly size: readonly number[];
  /** Size a layout holds. */
  readonly capacity: number;
  /** Places of a piece that a layout can hold at most. */
  readonly most: readonly number[];
}

export interface Contents {
  /** `counts[j][i]`: places of piece i on layout j. */
  readonly counts: readonly (readonly number[])[];
  readonly runs: readonly number[];
  readonly sheets: number;
}

/** Asked between moves whether to stop; an `AbortSignal` is one. */
export interface Stop {
  readonly aborted: boolean;
}

export interface AnnealOptions {
  readonly iterations: number;
  readonly seed: number;
  readonly signal?: Stop;
  /** Only answers with fewer sheets than this are wanted. */
  readonly better?: number;
  readonly start?: Contents;
}

/**
 * Contents and whole runs with few sheets for a fixed number of layouts, or undefined when the pieces do not fit or nothing is
 * better than asked. Annealing over the contents (swap two places of different layouts, give a place to another piece) with
 * exact runs for every trial; temperatures fall from 5 % to 0.01 % of the least sheets (Teghem, Pirlot, Antoniadis 1995 use
 * the same frame). The limit of a trial is drawn before its runs are computed, so that most losing trials stop half way.
 */
export const annealContents = (problem: ContentsProblem, options: AnnealOptions): Contents | undefined => {
  const state = startOf(problem, options.start);
  if (!state) return undefined;
  const { layouts } = problem;
  const items = problem.demand.length;
  const demand = Float64Array.from(problem.demand);
  const solver = new LeastRuns(layouts, items);
  const dice = diceOf(options.seed);
  let current = solver.relaxed(state.counts, demand);
  let best = options.better ?? Number.POSITIVE_INFINITY;
  let answer: Contents | undefined;
  let nodes = 4000;
  let tried = Number.POSITIVE_INFINITY;
  const keep = (value: number): void => {
    if (!(Math.ceil(value - 1e-7) < best) || (nodes <= 0 && value >= tried - 1e-9)) return;
    tried = Math.min(tried, value);
    nodes -= 40;
    const whole = solver.whole(state.counts, demand, best, 60);
    if (!whole) return;
    best = whole.sum;
    answer = { counts: rowsOf(state.counts, layouts, items), runs: whole.runs, sheets: whole.sum };
  };
  keep(current);
  const scale = bound(problem);
  const hot = 0.05 * scale;
  const cold = 0.0001 * scale;
  const cooling = (cold / hot) ** (1 / Math.max(1, options.iterations));
  let heat = hot;
  const move = new Move();
  for (let k = 0; k < options.iterations; k++, heat *= cooling) {
    if ((k & 4095) === 0 && options.signal?.aborted) break;
    if (!propose(state, problem, dice, move)) continue;
    move.apply(state, problem);
    const limit = current - heat * Math.log(1 - dice.next());
    const value = solver.relaxed(state.counts, demand, limit);
    if (value > limit) {
      move.undo(state, problem);
      continue;
    }
    current = value;
    keep(value);
  }
  return answer;
};

/** Sheets that no plan beats: all sizes together over what a layout holds. */
export const bound = (problem: ContentsProblem): number =>
  problem.demand.reduce((sum, d, i) => sum + d * (problem.size[i] as number), 0) / problem.capacity;

export interface State {
  readonly counts: Int32Array;
  /** Pieces on a layout, one entry a place: `places[j * stride + p]`, p < length[j]. */
  readonly places: Int32Array;
  readonly stride: number;
  readonly length: Int32Array;
  readonly used: Float64Array;
  /** Places of every piece on all layouts together. */
  readonly total: Int32Array;
}

const SLACK = 1e-9;

/** One change of contents: up to two places get another piece, or a place comes or goes. */
class Move {
  layoutA = 0;
  placeA = 0;
  fromA = -1;
  toA = -1;
  layoutB = -1;
  placeB = 0;
  fromB = -1;
  toB = -1;

  apply(state: State, problem: ContentsProblem): void {
    put(state, problem, this.layoutA, this.placeA, this.fromA, this.toA);
    if (this.layoutB >= 0) put(state, problem, this.layoutB, this.placeB, this.fromB, this.toB);
  }

  undo(state: State, problem: ContentsProblem): void {
    if (this.layoutB >= 0) put(state, problem, this.layoutB, this.placeB, this.toB, this.fromB);
    put(state, problem, this.layoutA, this.placeA, this.toA, this.fromA);
  }
}

/** Place p of layout j goes from piece u to piece v; -1 is an empty place, always the last of its layout. */
const put = (state: State, problem: ContentsProblem, j: number, p: number, u: number, v: number): void => {
  const items = problem.demand.length;
  if (u >= 0) {
    state.counts[j * items + u] = (state.counts[j * items + u] as number) - 1;
    state.total[u] = (state.total[u] as number) - 1;
    state.used[j] = (state.used[j] as number) - (problem.size[u] as number);
  } else state.length[j] = (state.length[j] as number) + 1;
  if (v >= 0) {
    state.counts[j * items + v] = (state.counts[j * items + v] as number) + 1;
    state.total[v] = (state.total[v] as number) + 1;
    state.used[j] = (state.used[j] as number) + (problem.size[v] as number);
  } else state.length[j] = (state.length[j] as number) - 1;
  state.places[j * state.stride + p] = v;
};

const propose = (state: State, problem: ContentsProblem, dice: Dice, move: Move): boolean => {
  const { layouts, capacity, size, most } = problem;
  const items = problem.demand.length;
  const j = dice.below(layouts);
  const n = state.length[j] as number;
  const what = dice.next();
  move.layoutA = j;
  move.layoutB = -1;
  if (what < 0.1 && (state.used[j] as number) + SLACK < capacity) {
    const v = dice.below(items);
    if ((state.used[j] as number) + (size[v] as number) > capacity + SLACK) return false;
    if ((state.counts[j * items + v] as number) >= (most[v] as number)) return false;
    move.placeA = n;
    move.fromA = -1;
    move.toA = v;
    return true;
  }
  if (n === 0) return false;
  const p = dice.below(n);
  const u = state.places[j * state.stride + p] as number;
  if (what < 0.5 && layouts > 1) {
    const l = (j + 1 + dice.below(layouts - 1)) % layouts;
    const m = state.length[l] as number;
    if (m === 0) return false;
    const q = dice.below(m);
    const v = state.places[l * state.stride + q] as number;
    if (u === v) return false;
    const grow = (size[v] as number) - (size[u] as number);
    if ((state.used[j] as number) + grow > capacity + SLACK || (state.used[l] as number) - grow > capacity + SLACK)
      return false;
    if ((state.counts[j * items + v] as number) >= (most[v] as number)) return false;
    if ((state.counts[l * items + u] as number) >= (most[u] as number)) return false;
    move.placeA = p;
    move.fromA = u;
    move.toA = v;
    move.layoutB = l;
    move.placeB = q;
    move.fromB = v;
    move.toB = u;
    return true;
  }
  const v = dice.below(items);
  if (v === u) return false;
  if (layouts > 1 && what < 0.7) {
    // A chain: this place to another piece, and this piece to a place elsewhere.
    const l = (j + 1 + dice.below(layouts - 1)) % layouts;
    const m = state.length[l] as number;
    if (m === 0) return false;
    const q = dice.below(m);
    const x = state.places[l * state.stride + q] as number;
    if (x === u || x === v || (state.total[x] as number) < 2) return false;
    if ((state.used[j] as number) - (size[u] as number) + (size[v] as number) > capacity + SLACK) return false;
    if ((state.used[l] as number) - (size[x] as number) + (size[u] as number) > capacity + SLACK) return false;
    if ((state.counts[j * items + v] as number) >= (most[v] as number)) return false;
    if ((state.counts[l * items + u] as number) >= (most[u] as number)) return false;
    move.placeA = p;
    move.fromA = u;
    move.toA = v;
    move.layoutB = l;
    move.placeB = q;
    move.fromB = x;
    move.toB = u;
    return true;
  }
  if ((state.total[u] as number) < 2) return false;
  if ((state.used[j] as number) - (size[u] as number) + (size[v] as number) > capacity + SLACK) return false;
  if ((state.counts[j * items + v] as number) >= (most[v] as number)) return false;
  move.placeA = p;
  move.fromA = u;
  move.toA = v;
  return true;
};

export const rowsOf = (counts: Int32Array, layouts: number, items: number): number[][] =>
  Array.from({ length: layouts }, (_, j) => Array.from(counts.subarray(j * items, (j + 1) * items)));

/**
 * Proportional start: pieces in descending copies a place fill the layouts one after another, so that pieces of like run
 * length share a layout; every piece has one place first, then the piece with most copies a place gets the next one.
 */
export const startOf = (problem: ContentsProblem, given: Contents | undefined): State | undefined => {
  const { layouts, demand, size, capacity, most } = problem;
  const items = demand.length;
  const least = size.reduce((a, b) => Math.min(a, b), capacity);
  const stride = Math.floor(capacity / least + SLACK) + 1;
  const state: State = {
    counts: new Int32Array(layouts * items),
    places: new Int32Array(layouts * stride).fill(-1),
    stride,
    length: new Int32Array(layouts),
    used: new Float64Array(layouts),
    total: new Int32Array(items),
  };
  const add = (j: number, i: number): boolean => {
    if ((state.used[j] as number) + (size[i] as number) > capacity + SLACK) return false;
    if ((state.counts[j * items + i] as number) >= (most[i] as number)) return false;
    put(state, problem, j, state.length[j] as number, -1, i);
    return true;
  };
  if (given) {
    given.counts.forEach((row, j) =>
      row.forEach((n, i) => {
        for (let k = 0; k < n; k++) add(j, i);
      }),
    );
    if (state.total.every((n, i) => n > 0 || (demand[i] as number) <= 0)) return state;
    return undefined;
  }
  const wanted = new Int32Array(items).fill(1);
  let room = layouts * capacity - size.reduce((a, b) => a + b, 0);
  for (;;) {
    let pick = -1;
    for (let i = 0; i < items; i++) {
      if ((size[i] as number) > room + SLACK || (wanted[i] as number) >= layouts * (most[i] as number)) continue;
      if (
        pick < 0 ||
        (demand[i] as number) / (wanted[i] as number) > (demand[pick] as number) / (wanted[pick] as number)
      )
        pick = i;
    }
    if (pick < 0) break;
    wanted[pick] = (wanted[pick] as number) + 1;
    room -= size[pick] as number;
  }
  const order = Array.from({ length: items }, (_, i) => i).sort(
    (a, b) => (demand[b] as number) / (wanted[b] as number) - (demand[a] as number) / (wanted[a] as number) || a - b,
  );
  let open = 0;
  for (const i of order)
    for (let k = 0; k < (wanted[i] as number); k++) {
      while (open < layouts && !add(open, i)) open++;
      if (open === layouts) break;
    }
  // What the sequence left over: first layout with room, large pieces first.
  for (const i of [...order].sort((a, b) => (size[b] as number) - (size[a] as number) || a - b)) {
    if ((state.total[i] as number) > 0) continue;
    let done = false;
    for (let j = 0; j < layouts && !done; j++) done = add(j, i);
    for (let j = 0; j < layouts && !done; j++) done = makeRoom(state, problem, j, i) && add(j, i);
    if (!done) return undefined;
  }
  return state;
};

/** Takes pieces off layout j that have another place, until piece i fits. */
const makeRoom = (state: State, problem: ContentsProblem, j: number, i: number): boolean => {
  for (let p = (state.length[j] as number) - 1; p >= 0; p--) {
    if ((state.used[j] as number) + (problem.size[i] as number) <= problem.capacity + SLACK) return true;
    const u = state.places[j * state.stride + p] as number;
    if ((state.total[u] as number) < 2) continue;
    // The empty place is always the last one: bring the last piece here first.
    const end = (state.length[j] as number) - 1;
    const moved = state.places[j * state.stride + end] as number;
    state.places[j * state.stride + p] = moved;
    put(state, problem, j, end, u, -1);
  }
  return (state.used[j] as number) + (problem.size[i] as number) <= problem.capacity + SLACK;
};
