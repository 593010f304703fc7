import type { Field, Footprint } from "../shapes/footprint.ts";
import { faultsOf } from "../proof/verify.ts";
import { Bed } from "./bed.ts";
import { Catalogue } from "../maps/catalogue.ts";
import { rowsOf } from "./rows.ts";
import type { Growth } from "../shapes/simplify.ts";

/**
 * One kind needs few maps, so that they may be finer than those of many kinds: a three-thousandth of the piece beyond its outline,
 * as hundreds of times on a sheet that adds up to a row.
 */
const growthOf = (footprint: Footprint): Growth => {
  const points = footprint.shape.flatMap((o) => o.outer);
  const spread = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  const size = Math.max(spread(points.map((p) => p.x)), spread(points.map((p) => p.y)));
  const fraction = Math.min(1, Math.max(0.125, size / 120_000));
  return { distance: 40 * fraction, fraction: 0.002 * fraction, points: 12 };
};
/** For outlines that keep many points even so: their maps would cost seconds. */
const COARSE: Growth = { distance: 120, fraction: 0.004, points: 32 };

/** A place for one more of the equal pieces: whole micrometres, degrees counter-clockwise. */
export interface Place {
  readonly turn: number;
  readonly x: number;
  readonly y: number;
}

/**
 * As many equal pieces as one sheet takes, at most `most`: the regular pattern of rows that holds most of them, and what goes
 * into the gaps it leaves at edges and keep-outs. A count, not a search: 550 stickers take a third of a second, and no limit
 * but the sheet's. In whole micrometres, proven like every layout; empty when the field does not take one piece.
 */
export const fullSheet = (footprint: Footprint, field: Field, most = Infinity): Place[] => {
  const catalogue = new Catalogue([footprint], [field], {
    clearance: field.clearance,
    many: false,
    growth: growthOf(footprint),
    coarse: COARSE,
    cells: 48,
    free: 8,
  });
  const bed = new Bed(catalogue, 0);
  const obstacles = bed.spots.length;
  for (const spot of rowsOf(catalogue, 0, 0)) bed.put(spot);
  const { minX, minY } = catalogue;
  const poses = catalogue.posesOn[0][0];
  const room = field.bounds.width * field.bounds.height;
  const area = catalogue.kinds[0].area;
  while (bed.area + area <= room) {
    const spot = bed.best(poses, (p, x, y) => y + minY[p] + 1e-3 * (x + minX[p]), false);
    if (!spot) break;
    bed.put(spot);
  }
  const places = bed.spots.slice(obstacles).map(({ pose, x, y }) => ({
    turn: catalogue.poses[pose].turn,
    x,
    y,
  }));
  const kept = places.sort((a, b) => a.y - b.y || a.x - b.x).slice(0, most);
  const faults = new Set(
    faultsOf(
      kept.map((place) => ({ footprint: 0, ...place })),
      [footprint],
      field,
    ).flatMap((fault) => fault.pieces.slice(-1)),
  );
  return kept.filter((_, i) => !faults.has(i));
};
