import { z } from "zod";
import { coordinate } from "./measures.ts";

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
