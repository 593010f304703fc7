import { type Contents, type ContentsProblem, put, SLACK, type State } from "./contents.ts";

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
