import type { Forme } from "@kitforme/layout";
import type { Serve } from "@kitforme/sheet";
import type { Article, Numbers } from "./demands-of.ts";

/**
 * The numbers of the pieces that every placement makes, per forme and placement: layout says for which orders how many; of each
 * order's equal pieces the numbers go up in the sequence of the sheets. Every number is served exactly once.
 */
export const numbersOf = (formes: readonly Forme[], articles: readonly Article[]): Serve[][][] => {
  const queues = articles.map((article) => {
    const ofOrder = new Map<string, Numbers[]>();
    for (const range of article.wanted) {
      const queue = ofOrder.get(range.order);
      if (queue) queue.push(range);
      else ofOrder.set(range.order, [range]);
    }
    return ofOrder;
  });
  const served = formes.map(({ placements }) =>
    placements.map(({ demand, owners = [] }) =>
      owners.flatMap(({ group, copies }) => take(queues[demand]?.get(group) ?? [], copies)),
    ),
  );
  const short = articles.filter((_, i) => [...(queues[i]?.values() ?? [])].some((queue) => queue.length > 0));
  if (short.length > 0) throw new Error(`the plan is short of ${short.map((a) => a.id).join(", ")}`);
  return served;
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
