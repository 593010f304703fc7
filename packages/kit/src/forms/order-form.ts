import { z } from "zod";
import { name, schema, textUpTo } from "./measures.ts";

const line = z.looseObject({
  kit: name.meta({ description: "The kit, as its kit.json calls itself.", examples: ["lantern"] }),
  quantity: z
    .int()
    .min(1)
    .max(1_000_000)
    .meta({ description: "How many kits.", examples: [25] }),
  texts: z
    .array(
      z
        .record(z.string(), textUpTo(2000).meta({ description: "The words of one slot." }))
        .meta({ description: "The words of one copy: slot name to text.", examples: [{ boat: "Solveig" }] }),
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
    lines: z.array(line).min(1).max(10_000).meta({ description: "What is ordered." }),
  })
  .meta({ title: "order.json", description: "Kits, quantities and the words of each copy." });

export type OrderForm = z.infer<typeof orderForm>;
