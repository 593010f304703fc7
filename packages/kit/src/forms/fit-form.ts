import { z } from "zod";
import { coordinate, length } from "./measures.ts";

const place = z.tuple([coordinate, coordinate]).meta({ unit: "mm", description: "x, y" });

/** marks.json: what a camera read of one printed sheet. */
export const readingForm = z
  .looseObject({
    seen: z
      .array(place)
      .max(1000)
      .meta({ description: "One place for each mark of the sheet, in the camera's own frame, in any order." }),
  })
  .meta({ title: "A reading of marks", description: "Where a camera saw the marks of a printed sheet. Millimetres." });

const pen = z.looseObject({ pen: z.number() });

/** Of job.json only what a fit and a remake read. */
export const madeJobForm = z.looseObject({
  job: z.string(),
  sheets: z.array(
    z.looseObject({
      sheet: z.int(),
      size: z.tuple([length, length]),
      run: z.int(),
      placements: z.array(
        z.looseObject({
          number: z.int(),
          kit: z.string(),
          piece: z.string(),
          serves: z.array(z.looseObject({ order: z.string(), first: z.int(), last: z.int() })),
        }),
      ),
      files: z.looseObject({ cut: z.record(z.string(), z.string()) }),
      marks: z.array(z.looseObject({ at: place, shape: z.enum(["disc", "square", "cross"]), size: length })),
      cutter: z.looseObject({
        name: z.string(),
        tools: z.looseObject({
          cutting: pen.optional(),
          creasing: pen.optional(),
          perforating: pen.optional(),
          partialCutting: pen.optional(),
        }),
        axes: z.looseObject({
          origin: z.enum(["lowerLeft", "lowerRight", "upperLeft", "upperRight"]),
          swap: z.boolean(),
          offset: place,
        }),
      }),
    }),
  ),
  files: z.array(z.looseObject({ name: z.string(), sha256: z.string() })),
});
