import { z } from "zod";
import { distance, extent, length, margins, name, schema } from "./measures.ts";

const stock = z.looseObject({
  title: z.string().max(1000).optional(),
  sheet: extent.meta({ description: "the preferred sheet, as it lies" }),
  sheets: z.array(extent).max(100).optional().meta({ description: "more sizes on hand" }),
  caliper: z.number().gt(0).max(50).optional(),
  grain: z.enum(["long", "short"]).optional(),
  press: name.nullable(),
  cutter: name,
});

const press = z.looseObject({
  margins,
  resolution: z.number().min(30).max(4800).meta({ unit: "pixels per inch" }),
  bleed: z.number().min(0).max(50),
  colour: z.enum(["cmyk", "rgb", "grey"]),
  register: z.number().min(0).max(20).default(0.5),
});

const pen = z.looseObject({ pen: z.int().min(1).max(255) });

const cutter = z.looseObject({
  formats: z.array(z.enum(["svg", "dxf", "hpgl"])).min(1),
  tolerance: z.number().min(0).max(20),
  clearance: distance,
  margins,
  marks: z.looseObject({ shape: z.enum(["disc", "square", "cross"]), size: length, clear: distance }),
  tools: z.looseObject({
    cutting: pen.optional(),
    creasing: pen.optional(),
    perforating: pen.optional(),
    partialCutting: pen.optional(),
  }),
});

/** shop.json as written. Fields beyond these are warned of and ignored. */
export const shopForm = z
  .looseObject({
    $schema: schema,
    stocks: z.record(z.string(), stock),
    presses: z.record(z.string(), press).default({}),
    cutters: z.record(z.string(), cutter),
    setup: z
      .looseObject({ sheetChange: z.number().min(0).max(1e9), newLayout: z.number().min(0).max(1e9) })
      .default({ sheetChange: 1, newLayout: 20 }),
    overs: z
      .looseObject({ sheets: z.int().min(0).max(100_000).default(0), share: z.number().min(0).max(1).default(0) })
      .default({ sheets: 0, share: 0 }),
  })
  .meta({ title: "A shop", description: "Stocks, presses and cutters. Lengths in millimetres." });

export type ShopForm = z.infer<typeof shopForm>;
