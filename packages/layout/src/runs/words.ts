import type { Demand, Forme, Placement } from "../footprint.ts";
import type { Geometry } from "./search.ts";

/**
 * Puts demands on the places of the geometries: which copy is printed where. Personal pieces go row by row, order by order,
 * onto as few sheets as hold them, so that an order's pieces come off the press together; all others then fill the long rest
 * place by place, so that few formes differ. Copies beyond the demand fall to pieces that are not personal.
 *
 * `need[d]`: copies of demand d to print. A geometry printed with several sets of words is several formes with one number.
 */
export const formesOf = (
  geometries: readonly Geometry[],
  demands: readonly Demand[],
  need: readonly number[],
): Forme[] => {
  const queues = queuesOf(demands, need, geometries);
  return geometries.flatMap(({ pattern, run }, geometry) => {
    const kinds = [...new Set(pattern.placed.map((l) => l.footprint))];
    /** Per place, runs of one demand from the first sheet on: [demand, sheets, demand, sheets ...]. */
    const columns: number[][] = pattern.placed.map(() => []);
    for (const kind of kinds) {
      const places = pattern.placed.flatMap((l, p) => (l.footprint === kind ? [p] : []));
      deal(queues.get(kind) as Queue, places, run, columns);
    }
    return slices(columns, run).map(({ words, sheets }) => ({
      field: pattern.field,
      run: sheets,
      geometry,
      placements: pattern.placed.map(({ turn, x, y }, p): Placement => ({ demand: words[p] as number, turn, x, y })),
    }));
  });
};

/** What of one footprint is still to be printed. */
interface Queue {
  /** Personal demands, one entry a copy, order by order. */
  readonly personal: number[];
  /** Demand and copies of all others, the largest first. The last one takes what is over. */
  readonly plain: { readonly demand: number; left: number }[];
}

const queuesOf = (
  demands: readonly Demand[],
  need: readonly number[],
  geometries: readonly Geometry[],
): Map<number, Queue> => {
  const groups = new Map<string, number>();
  for (const d of demands) for (const { group } of d.groups) if (!groups.has(group)) groups.set(group, groups.size);
  const rank = (d: Demand): number => Math.min(...d.groups.map((g) => groups.get(g.group) as number), groups.size);
  const queues = new Map<number, Queue>();
  const order = demands
    .map((_, i) => i)
    .sort((a, b) => rank(demands[a] as Demand) - rank(demands[b] as Demand) || a - b);
  for (const i of order) {
    const { footprint, personal } = demands[i] as Demand;
    const copies = need[i] as number;
    if (copies <= 0) continue;
    const queue = queues.get(footprint) ?? { personal: [], plain: [] };
    queues.set(footprint, queue);
    if (personal) for (let k = 0; k < copies; k++) queue.personal.push(i);
    else queue.plain.push({ demand: i, left: copies });
  }
  for (const [footprint, queue] of queues) {
    queue.plain.sort((a, b) => a.left - b.left || b.demand - a.demand).reverse();
    const wanted = queue.personal.length + queue.plain.reduce((n, p) => n + p.left, 0);
    const made = geometries.reduce(
      (n, { pattern, run }) => n + run * pattern.placed.filter((l) => l.footprint === footprint).length,
      0,
    );
    const most = queue.plain[0];
    if (made > wanted) {
      if (!most) throw new Error(`layout: ${made - wanted} copies too many of footprint ${footprint}, all personal`);
      most.left += made - wanted;
    }
    if (made < wanted) throw new Error(`layout: ${wanted - made} copies of footprint ${footprint} have no place`);
    queue.personal.reverse();
  }
  return queues;
};

/** Fills `places` x `run` cells from the queue. */
const deal = (queue: Queue, places: readonly number[], run: number, columns: number[][]): void => {
  const n = places.length;
  const put = (p: number, demand: number, sheets: number): void => {
    if (sheets <= 0) return;
    const column = columns[places[p] as number] as number[];
    if (column.length > 0 && column[column.length - 2] === demand)
      column[column.length - 1] = (column[column.length - 1] as number) + sheets;
    else column.push(demand, sheets);
  };
  const rows = Math.min(run, Math.ceil(queue.personal.length / n));
  for (let row = 0; row < rows; row++)
    for (let p = 0; p < n; p++) {
      const personal = queue.personal.pop();
      if (personal !== undefined) put(p, personal, 1);
      else put(p, plainOne(queue), 1);
    }
  const rest = run - rows;
  if (rest === 0) return;
  // Whole columns first, the demand with most left each time; then the ends one after another down the columns.
  let p = 0;
  for (; p < n; p++) {
    const most = largest(queue);
    if (!most || most.left < rest) break;
    most.left -= rest;
    put(p, most.demand, rest);
  }
  for (; p < n; p++) {
    let open = rest;
    while (open > 0) {
      const most = largest(queue);
      if (!most) throw new Error("layout: places without a demand");
      const take = Math.min(open, most.left);
      most.left -= take;
      open -= take;
      put(p, most.demand, take);
    }
  }
};

const largest = (queue: Queue): Queue["plain"][number] | undefined =>
  queue.plain.reduce<Queue["plain"][number] | undefined>(
    (best, p) => (p.left > 0 && (!best || p.left > best.left) ? p : best),
    undefined,
  );

/** One copy of what is not personal, of the smallest rest: it ends there and disturbs no long run. */
const plainOne = (queue: Queue): number => {
  const least = queue.plain.reduce<Queue["plain"][number] | undefined>(
    (best, p) => (p.left > 0 && (!best || p.left < best.left) ? p : best),
    undefined,
  );
  if (!least) throw new Error("layout: a place without a demand");
  least.left -= 1;
  return least.demand;
};

/** Stretches of sheets on which no place changes; equal ones are one forme. */
const slices = (columns: readonly (readonly number[])[], run: number): { words: number[]; sheets: number }[] => {
  const cuts = new Set([0, run]);
  for (const column of columns) {
    let at = 0;
    for (let k = 1; k < column.length; k += 2) cuts.add((at += column[k] as number));
  }
  const edges = [...cuts].sort((a, b) => a - b);
  const cursor = columns.map(() => ({ k: 0, end: 0 }));
  const found = new Map<string, { words: number[]; sheets: number }>();
  for (let e = 0; e + 1 < edges.length; e++) {
    const from = edges[e] as number;
    const words = columns.map((column, c) => {
      const at = cursor[c] as { k: number; end: number };
      while (at.end <= from) {
        at.end += column[at.k + 1] as number;
        at.k += 2;
      }
      return column[at.k - 2] as number;
    });
    const key = words.join();
    const sheets = (edges[e + 1] as number) - from;
    const twin = found.get(key);
    if (twin) twin.sheets += sheets;
    else found.set(key, { words, sheets });
  }
  return [...found.values()];
};
