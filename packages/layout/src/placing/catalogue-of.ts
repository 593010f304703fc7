import type { Field, Footprint } from "../footprint.ts";
import { Catalogue } from "./catalogue.ts";
import type { Box } from "./ring.ts";

/** More kinds than this get coarser maps and fewer of them: their number grows with the square. */
export const MANY = 40;

const known = new WeakMap<readonly Footprint[], Map<string, Catalogue>>();

/** The catalogue of these footprints on these fields, kept as long as the caller keeps the footprints. */
export const catalogueOf = (footprints: readonly Footprint[], fields: readonly Field[]): Catalogue => {
  let mine = known.get(footprints);
  if (!mine) known.set(footprints, (mine = new Map()));
  const key = JSON.stringify(fields);
  let catalogue = mine.get(key);
  if (!catalogue) {
    const clearance = Math.max(0, ...fields.map((f) => f.clearance));
    const free = footprints.filter((f) => f.turns === "any").length;
    const many = footprints.length > MANY;
    catalogue = new Catalogue(footprints, fields, {
      clearance,
      // 40 um more paper between rounded corners is less than any press registers, and maps cost by the point.
      growth: many ? { distance: 150, share: 0.005, points: 8 } : { distance: 40, share: 0.002, points: 12 },
      ...(many ? {} : { coarse: { distance: 120, share: 0.004, points: 32 } }),
      cells: many ? 24 : 48,
      free: free > 12 ? 8 : 16,
    });
    mine.set(key, catalogue);
  }
  return catalogue;
};

export const areaOfField = (field: Field): number => field.print.width * field.print.height;

/** Area a sheet has for shapes. Keep-outs are not taken off: they often lie beyond the print area. */
export const roomOf = (fields: readonly Field[]): number[] => fields.map(areaOfField);

export const fitsBox = (box: Box): boolean => box.maxX >= box.minX && box.maxY >= box.minY;
