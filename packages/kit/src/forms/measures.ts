import { z } from "zod";

// Measures as they stand in the files: millimetres, points, counts. The bounds are not taste: clipper's fast integer
// range ends at 47 m, so 10 m keeps every sum of two lengths inside it.
const LONGEST = 10_000;

export const length = z.number().gt(0).max(LONGEST).meta({ unit: "mm" });
export const distance = z.number().min(0).max(LONGEST).meta({ unit: "mm" });
/** A coordinate of a drawing, may be negative. */
export const coordinate = z.number().min(-LONGEST).max(LONGEST).meta({ unit: "mm" });
export const points = z.number().gt(0).max(5000).meta({ unit: "pt" });
export const extent = z.tuple([length, length]).meta({ description: "width, height" });
export const box = z.tuple([coordinate, coordinate, length, length]).meta({ description: "x, y, width, height" });
export const margins = z.looseObject({ top: distance, right: distance, bottom: distance, left: distance });
/** Names and paths are judged by the guards, which know more reasons than a pattern can tell. */
export const name = z.string().min(1).max(1000);
export const path = z.string().min(1).max(10_000);
/** Tells an editor which schema to hold the file against. */
export const schema = z.string().max(1000).optional();
