import type { Forme } from "@kitforme/layout";
import type { Serve } from "@kitforme/sheet";
import type { Article, Numbers } from "./demands-of.ts";

/**
 * Whose pieces every placement makes: the numbers of an article are dealt out to its placements in the order of the formes,
 * `run` at a time, so every number is served exactly once; what is left of a run when no number is left is overs.
 * Result: per forme, per placement, its serves.
 */
export const dealNumbers = (formes: readonly Forme[], articles: readonly Article[]): Serve[][][] => {
  const left = articles.map((a) => [...a.wanted]);
  const dealt = formes.map((forme) => forme.placements.map(({ demand }) => take(left[demand] as Numbers[], forme.run)));
  const short = articles.filter((_, i) => (left[i] as Numbers[]).length > 0);
  if (short.length > 0) throw new Error(`the plan is short of ${short.map((a) => a.id).join(", ")}`);
  return dealt;
};

/** Takes up to `count` numbers from the front of the queue, which it shortens. */
const take = (queue: Numbers[], count: number): Serve[] => {
  const taken: Serve[] = [];
  let wanted = count;
  while (wanted > 0 && queue.length > 0) {
    const head = queue[0] as Numbers;
    const last = Math.min(head.last, head.first + wanted - 1);
    taken.push({ order: head.order, first: head.first, last });
    wanted -= last - head.first + 1;
    if (last === head.last) queue.shift();
    else queue[0] = { ...head, first: last + 1 };
  }
  return taken;
};
