import type { Field, Footprint } from "../shapes/footprint.ts";
import { Catalogue } from "./catalogue.ts";
import { ringsOf } from "../shapes/ring.ts";
import { type Growth, simplify } from "../shapes/simplify.ts";

/**
 * More kinds than this, if their outlines have more points than that together, get coarser maps and fewer of them, and never
 * more than so many: the number of maps grows with the square of the kinds, the time for one with the points.
 */
const MANY = { kinds: 40, points: 2600, most: 64 };

/** What loses points but hardly area: 40 um more between rounded corners. */
const FINE: Growth = { distance: 40, fraction: 0.002, points: 12 };
/** Where maps have to be made sooner than good: of many kinds, and for a draft. */
const ROUGH: Growth = { distance: 150, fraction: 0.005, points: 8 };

const isMany = (footprints: readonly Footprint[]): boolean => {
  if (footprints.length <= MANY.kinds) return false;
  if (footprints.length > MANY.most) return true;
  const points = footprints.flatMap((f) => ringsOf(f.shape, (ring) => simplify(ring, FINE)));
  return points.reduce((sum, ring) => sum + ring.length / 2, 0) > MANY.points;
};

/**
 * The catalogue of these footprints on these fields. A `draft` has rougher maps, made in two thirds of the time, for a layout
 * that is wanted at once.
 */
export const catalogueOf = (footprints: readonly Footprint[], fields: readonly Field[], draft: boolean): Catalogue => {
  const many = isMany(footprints);
  const rough = many || draft;
  return new Catalogue(footprints, fields, {
    clearance: Math.max(0, ...fields.map((f) => f.clearance)),
    many,
    growth: rough ? ROUGH : FINE,
    ...(rough ? {} : { coarse: { distance: 120, fraction: 0.004, points: 32 } }),
    cells: footprints.length > MANY.kinds ? 24 : draft ? 32 : 48,
    free: footprints.filter((f) => f.turns === "any").length > 12 ? 8 : 16,
  });
};
