/** Room that rounding may take from a layout. */
export const SLACK = 1e-9;

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

/** Sheets that no plan beats: all sizes together over what a layout holds. */
export const bound = (problem: ContentsProblem): number =>
  problem.demand.reduce((sum, d, i) => sum + d * (problem.size[i] as number), 0) / problem.capacity;

/** Contents while they are searched. */
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

/** Place p of layout j goes from piece u to piece v; -1 is an empty place, always the last of its layout. */
export const put = (state: State, problem: ContentsProblem, j: number, p: number, u: number, v: number): void => {
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

/** Contents layout by layout. */
export const rowsOf = (counts: Int32Array, layouts: number, items: number): number[][] =>
  Array.from({ length: layouts }, (_, j) => Array.from(counts.subarray(j * items, (j + 1) * items)));
