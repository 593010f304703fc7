import { type ContentsProblem, put, SLACK, type State } from "./contents.ts";
import type { Dice } from "./dice.ts";

/** One change of contents: up to two places get another piece, or a place comes or goes. */
export class Move {
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

/** A change drawn at random; false when it was none. */
export const propose = (state: State, problem: ContentsProblem, dice: Dice, move: Move): boolean => {
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
