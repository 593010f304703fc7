import type { Demand, Forme, Owner, Placement } from "../footprint.ts";
import { type Cell, gather } from "./gather.ts";

/**
 * Whose copies every placement makes. Each demand's groups take its placements in the sequence of the formes, `run` copies at a
 * time; what a run makes beyond them is overs and belongs to nobody. Then equal pieces are exchanged between formes of equal
 * runs, words and owners together, so that a group's pieces lie on few sheets: shapes, places and runs stay.
 */
export const withOwners = (formes: readonly Forme[], demands: readonly Demand[]): Forme[] => {
  const groups = [...new Set(demands.flatMap((d) => d.groups.map((g) => g.group)))];
  if (groups.length === 0) return [...formes];
  const rank = new Map(groups.map((group, k) => [group, k]));
  const dealt = deal(formes, demands);
  const sorts = new Map<string, number>();
  const sortOf = (name: string): number => {
    const known = sorts.get(name) ?? sorts.size;
    sorts.set(name, known);
    return known;
  };
  const places = formes.flatMap((forme, f) => forme.placements.map((placement, p) => ({ f, p, placement })));
  const content = gather(
    places.map(
      ({ f, p, placement }): Cell => ({
        sheet: f,
        sort: sortOf(`${demands[placement.demand]?.footprint} x ${formes[f]?.run}`),
        groups: [...new Set(dealt[f]?.[p]?.map((o) => rank.get(o.group) as number))].sort((a, b) => a - b),
      }),
    ),
  );
  const result = formes.map((forme) => ({ ...forme, placements: [...forme.placements] }));
  places.forEach(({ f, p, placement }, i) => {
    const from = places[content[i] as number] as (typeof places)[number];
    const printed: Placement = { ...placement, demand: from.placement.demand, owners: dealt[from.f]?.[from.p] ?? [] };
    (result[f] as { placements: Placement[] }).placements[p] = printed;
  });
  return result;
};

/** Per forme and placement, the groups whose copies it makes. */
const deal = (formes: readonly Forme[], demands: readonly Demand[]): Owner[][][] => {
  const queues = demands.map((d) => d.groups.map((g) => ({ ...g })));
  return formes.map(({ placements, run }) =>
    placements.map(({ demand }) => {
      const queue = queues[demand] ?? [];
      const owners: Owner[] = [];
      for (let open = run; open > 0 && queue.length > 0; ) {
        const head = queue[0] as { group: string; copies: number };
        const copies = Math.min(open, head.copies);
        if (copies > 0) owners.push({ group: head.group, copies });
        open -= copies;
        head.copies -= copies;
        if (head.copies === 0) queue.shift();
      }
      return owners;
    }),
  );
};
