import { lengthOf, outlinesArea, perimeter } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";

/** What an order takes of a job: what its prices are shared out by. */
export interface Load {
  /** Area inside its outlines, mm2, over all copies. */
  readonly area: number;
  /** Way under the tool, mm, over all copies. */
  readonly way: number;
}

/**
 * The load of every order on one sheet of a run. Overs belong to those whose pieces they are; a place whose copies serve several
 * orders is shared by how many each of them gets.
 */
export const loadsOf = ({ placed, paths, run }: Sheet): Map<string, Load> => {
  const ways = new Map<number, number>();
  for (const { placed: number, points, closed } of paths)
    ways.set(number, (ways.get(number) ?? 0) + (closed ? perimeter(points) : lengthOf(points)) / 1000);
  const loads = new Map<string, Load>();
  for (const { number, prepared, serves } of placed) {
    const served = serves.reduce((n, { first, last }) => n + last - first + 1, 0);
    if (served === 0) continue;
    const area = (outlinesArea(prepared.piece.parts) / 1e6) * run;
    const way = (ways.get(number) ?? 0) * run;
    for (const { order, first, last } of serves) {
      const share = (last - first + 1) / served;
      const load = loads.get(order) ?? { area: 0, way: 0 };
      loads.set(order, { area: load.area + area * share, way: load.way + way * share });
    }
  }
  return loads;
};
