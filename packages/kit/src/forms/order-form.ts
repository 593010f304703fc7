import { z } from "zod";
import { TITLE_PATTERN } from "../guard.ts";
import { name, path, schema, textUpTo } from "./measures.ts";

const share = z.number().min(0).max(1);
/** A picture of the buyer's beside the order. */
const picture = z
  .looseObject({
    file: path.meta({
      description: "The picture's file, in the order's folder or below it.",
      examples: ["uploads/7.jpg"],
    }),
    crop: z
      .tuple([share, share, share.gt(0), share.gt(0)])
      .optional()
      .meta({
        description: "What of the picture is shown: x, y, width, height in shares of it; left out: all.",
        examples: [[0.1, 0, 0.8, 1]],
      }),
    sha256: z
      .string()
      .regex(/^[0-9a-fA-F]{64}$/, "is no SHA-256: 64 hexadecimal digits")
      .optional()
      .meta({
        description: "SHA-256 of the file as the buyer sent it: where the file is another one by then, it is an error.",
        examples: ["9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"],
      }),
  })
  .meta({ description: "A picture of the buyer's." });

const line = z.looseObject({
  kit: name.meta({ description: "The kit, as its kit.json calls itself.", examples: ["lantern"] }),
  quantity: z
    .int()
    .min(1)
    .max(1_000_000)
    .meta({ description: "How many kits.", examples: [25] }),
  texts: z
    .array(
      z.record(z.string(), z.union([textUpTo(2000).meta({ description: "The words of one slot." }), picture])).meta({
        description: "The words of one copy: slot name to text, or to a picture.",
        examples: [{ boat: "Solveig" }],
      }),
    )
    .optional()
    .meta({
      description: "One entry for each of the quantity. Left out: slots stay blank, but for those that are required.",
      examples: [[{ boat: "Solveig" }, { boat: "Aino" }]],
    }),
});

/** order.json as written. Fields beyond these are warned of and ignored. */
export const orderForm = z
  .looseObject({
    $schema: schema,
    order: name.meta({
      description: "Name of the order. The same name with the same content is one order, with other content an error.",
      examples: ["HL-2041"],
    }),
    due: z.iso
      .date()
      .optional()
      .meta({
        description: "The day it is due, year-month-day: early orders get the first sheets.",
        examples: ["2026-12-04"],
      }),
    rush: z.boolean().optional().meta({
      description: "true: made at once and by itself, where orders wait in a queue to be ganged.",
    }),
    to: z
      .array(textUpTo(200).meta({ description: "A line of the address.", pattern: TITLE_PATTERN }))
      .max(12)
      .optional()
      .meta({
        description: "Address for the packing slip, line by line, and for nothing else.",
        examples: [["Solveig Aune", "Havnegata 3", "7010 Trondheim"]],
      }),
    lines: z.array(line).min(1).max(10_000).meta({ description: "What is ordered." }),
  })
  .meta({ title: "order.json", description: "Kits, quantities and the words of each copy." });

export type OrderForm = z.infer<typeof orderForm>;
