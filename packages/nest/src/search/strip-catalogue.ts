import type { Field, Footprint } from "../shapes/footprint.ts";
import { Catalogue } from "../maps/catalogue.ts";

/** Points of all outlines together. */
export const pointsOf = (footprints: readonly Footprint[]): number =>
  footprints.reduce((n, f) => n + f.shape.reduce((m, o) => m + o.outer.length, 0), 0);

/** The catalogue of a strip of this height, at most `longest` long; pieces may touch. */
export const stripCatalogue = (footprints: readonly Footprint[], height: number, longest: number): Catalogue => {
  // Of 47 shapes in four turns every two meet: 4,500 maps, 63 s and more memory than they may have at the finest, 35 s so.
  const many = pointsOf(footprints) > 2000;
  const field: Field = {
    id: "strip",
    width: longest,
    height,
    bounds: { x: 0, y: 0, width: longest, height },
    coreBounds: { x: 0, y: 0, width: longest, height },
    keepOuts: [],
    clearance: 0,
  };
  return new Catalogue(footprints, [field], {
    clearance: 0,
    many: false,
    growth: many
      ? { distance: Infinity, fraction: 0.002, points: 16 }
      : { distance: Infinity, fraction: 0.001, points: 60 },
    cells: many ? 32 : 64,
    free: 16,
  });
};
