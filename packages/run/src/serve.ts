import { type Cell, type Forme, gather, type Placement } from "@kitforme/layout";
import type { Serve } from "@kitforme/sheet";
import type { Article, Numbers } from "./demands-of.ts";

/** Formes, and per forme and placement whose pieces it makes. */
export interface Served {
  readonly formes: readonly Forme[];
  readonly serves: readonly (readonly (readonly Serve[])[])[];
}

/**
 * Whose pieces every placement makes. Equal pieces are exchanged between formes of equal runs, words and owners together, so
 * that the pieces of an order lie on few sheets; shapes, places and runs stay. `footprintOf`: per demand.
 */
export const serveOrders = (
  formes: readonly Forme[],
  articles: readonly Article[],
  footprintOf: readonly number[],
): Served => {
  const dealt = dealNumbers(formes, articles);
  const orders = [...new Set(articles.flatMap((a) => a.wanted.map((w) => w.order)))];
  const rank = new Map(orders.map((order, k) => [order, k]));
  const sorts = new Map<string, number>();
  const sortOf = (name: string): number => {
    const known = sorts.get(name) ?? sorts.size;
    sorts.set(name, known);
    return known;
  };
  const places = formes.flatMap(({ placements }, f) => placements.map(({ demand }, p) => ({ f, p, demand })));
  const content = gather(
    places.map(
      ({ f, p, demand }): Cell => ({
        sheet: f,
        sort: sortOf(`${footprintOf[demand]} x ${formes[f]?.run}`),
        groups: [...new Set(dealt[f]?.[p]?.map((s) => rank.get(s.order) as number))].sort((a, b) => a - b),
      }),
    ),
  );
  const words = formes.map(({ placements }) => [...placements]);
  const owners = formes.map(({ placements }) => placements.map((): readonly Serve[] => []));
  places.forEach(({ f, p }, i) => {
    const from = places[content[i] as number] as (typeof places)[number];
    const placement = formes[f]?.placements[p];
    if (!placement) throw new Error(`no placement ${p} on forme ${f}`);
    (words[f] as Placement[])[p] = { ...placement, demand: from.demand };
    (owners[f] as (readonly Serve[])[])[p] = dealt[from.f]?.[from.p] ?? [];
  });
  const swapped = formes.map((forme, f) => ({ ...forme, placements: words[f] as Placement[] }));
  return { formes: swapped, serves: inSequence(swapped, owners) };
};

/** The same owners, the numbers of each order's equal pieces in the sequence of the sheets. */
const inSequence = (formes: readonly Forme[], serves: readonly (readonly (readonly Serve[])[])[]): Serve[][][] => {
  const keyOf = (demand: number, order: string): string => JSON.stringify([demand, order]);
  const queues = new Map<string, Numbers[]>();
  formes.forEach(({ placements }, f) => {
    placements.forEach(({ demand }, p) => {
      for (const serve of serves[f]?.[p] ?? []) {
        const key = keyOf(demand, serve.order);
        const queue = queues.get(key);
        if (queue) queue.push(serve);
        else queues.set(key, [serve]);
      }
    });
  });
  for (const [key, queue] of queues) queues.set(key, joined(queue));
  return formes.map(({ placements }, f) =>
    placements.map(({ demand }, p) =>
      (serves[f]?.[p] ?? []).flatMap(({ order, first, last }) =>
        take(queues.get(keyOf(demand, order)) as Numbers[], last - first + 1),
      ),
    ),
  );
};

/** Ranges in sequence, neighbouring ones as one. */
const joined = (ranges: readonly Numbers[]): Numbers[] => {
  const all: Numbers[] = [];
  for (const range of [...ranges].sort((a, b) => a.first - b.first)) {
    const tail = all.at(-1);
    if (tail && tail.last + 1 === range.first) all[all.length - 1] = { ...tail, last: range.last };
    else all.push(range);
  }
  return all;
};

/**
 * The numbers of an article are dealt out to its placements in the order of the formes,
 * `run` at a time, so every number is served exactly once; what is left of a run when no number is left is overs.
 * Result: per forme, per placement, its serves.
 */
const dealNumbers = (formes: readonly Forme[], articles: readonly Article[]): Serve[][][] => {
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
