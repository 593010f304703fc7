import { crossings } from "./crossings.ts";
import { Fragments } from "./fragments.ts";
import type { Nodes } from "./lattice.ts";

/** Edges split where others cross them. */
export const split = (e: Float64Array, plus: readonly number[], nodes: Nodes): Fragments => {
  const count = plus.length;
  const { next, head, at } = crossings(e, count);
  const found = new Fragments(4 * count + 4);
  const splits: number[] = [];
  for (let i = 0; i < count; i++) {
    const vanish = plus[i] === 1;
    splits.length = 0;
    for (let k = head[i]; k >= 0; k = next[k]) splits.push(k);
    if (splits.length > 1) splits.sort((a, b) => at[3 * a] - at[3 * b]);
    let last = nodes.idOf(e[4 * i], e[4 * i + 1]);
    for (const k of splits) {
      const id = nodes.idOf(at[3 * k + 1], at[3 * k + 2]);
      found.add(last, id, vanish);
      last = id;
    }
    found.add(last, nodes.idOf(e[4 * i + 2], e[4 * i + 3]), vanish);
  }
  return found;
};
