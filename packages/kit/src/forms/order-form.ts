import { z } from "zod";
import { name, schema } from "./measures.ts";

const line = z.looseObject({
  kit: name,
  quantity: z.int().min(1).max(1_000_000),
  texts: z
    .array(z.record(z.string(), z.string().max(2000)))
    .optional()
    .meta({ description: "one entry per copy: slot name to text" }),
});

/** order.json as written. Fields beyond these are warned of and ignored. */
export const orderForm = z
  .looseObject({
    $schema: schema,
    order: name,
    due: z.iso.date().optional(),
    lines: z.array(line).min(1).max(10_000),
  })
  .meta({ title: "An order", description: "Kits, quantities and the words of each copy." });

export type OrderForm = z.infer<typeof orderForm>;
