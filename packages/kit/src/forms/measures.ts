import { z } from "zod";
import { NAME_PATTERN, PATH_PATTERN, TITLE_PATTERN } from "../guard.ts";

// Measures as they stand in the files: millimetres, points, counts. The bounds are not taste: clipper's fast integer
// range ends at 47 m, so 10 m keeps every sum of two lengths inside it.
const LONGEST = 10_000;

/** A text of at most so many characters, counted as people and JSON Schema count them: an emoji of two code units is one. */
export const textUpTo = (most: number) =>
  z
    .string()
    .refine((text) => text.length <= most || Array.from(text).length <= most, {
      error: `is too long: at most ${most} characters`,
    })
    .meta({ maxLength: most });

export const length = z.number().gt(0).max(LONGEST).meta({ unit: "mm" });
export const distance = z.number().min(0).max(LONGEST).meta({ unit: "mm" });
/** A coordinate of a drawing, may be negative. */
export const coordinate = z.number().min(-LONGEST).max(LONGEST).meta({ unit: "mm" });
export const points = z.number().gt(0).max(5000).meta({ unit: "pt" });
export const extent = z
  .tuple([length, length])
  .meta({ unit: "mm", description: "Width, height.", examples: [[320, 450]] });
export const box = z.tuple([coordinate, coordinate, length, length]).meta({
  unit: "mm",
  description: "x, y, width, height in the drawing: from its top-left corner, y down.",
  examples: [[12, 40, 50, 14]],
});
export const margins = z.looseObject({
  top: distance.meta({ description: "From the upper edge of the sheet as it lies on the print.", examples: [5] }),
  right: distance.meta({ description: "From the right edge.", examples: [5] }),
  bottom: distance.meta({ description: "From the lower edge.", examples: [8] }),
  left: distance.meta({ description: "From the left edge.", examples: [5] }),
});
/** Names and paths are judged by the guards, which know more reasons than a pattern can tell; the schema carries the pattern. */
export const name = z.string().min(1).max(1000).meta({ maxLength: 60, pattern: NAME_PATTERN });
export const path = z.string().min(1).max(10_000).meta({ maxLength: 1000, pattern: PATH_PATTERN });
export const title = textUpTo(1000).meta({ pattern: TITLE_PATTERN });
/** Tells an editor which schema to hold the file against. */
export const schema = z
  .string()
  .max(1000)
  .optional()
  .meta({
    description: "For editors: the JSON Schema of this file. Read by nobody else.",
    examples: ["kit.schema.json"],
  });
