import { z } from "zod";
import { coordinate, distance, extent, length, margins, name, schema } from "./measures.ts";

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

const axes = z
  .looseObject({
    origin: z
      .enum(["lowerLeft", "lowerRight", "upperLeft", "upperRight"])
      .default("lowerLeft")
      .meta({ description: "The corner of the sheet that is 0,0 in HP-GL and DXF, as the sheet lies on the print." }),
    swap: z.boolean().default(false).meta({ description: "true: X and Y change places in HP-GL and DXF." }),
    offset: z
      .tuple([coordinate, coordinate])
      .default([0, 0])
      .meta({ description: "Millimetres added to X and Y in HP-GL and DXF, after origin and swap." }),
  })
  .meta({ description: "How the machine counts. SVG, PDF and job.json never change." });

/** Interrupted cuts shorter than this are no cuts, and longer than this no perforation. */
const dash = z.tuple([z.number().min(0.1).max(50), z.number().min(0.1).max(50)]);

const knifePath = z
  .looseObject({
    overcut: z.number().min(0).max(10).default(0).meta({
      unit: "mm",
      description: "How far a closed cut runs on past the point where it began, along the contour.",
    }),
    bladeOffset: z.number().min(0).max(5).default(0).meta({
      unit: "mm",
      description: "How far a trailing blade's tip follows behind its axis; 0 for a tangential knife or a laser.",
    }),
    tabs: z
      .looseObject({
        count: z.int().min(1).max(100).meta({ description: "Bridges in each outline." }),
        length: z.number().min(0.05).max(10).meta({ unit: "mm", description: "Length of a bridge." }),
      })
      .optional()
      .meta({ description: "Bridges that hold pieces in the sheet: never within 5 mm of a corner or a crease." }),
    dash: z
      .looseObject({
        perforating: dash.optional().meta({ unit: "mm", description: "[cut, gap] of perforations." }),
        creasing: dash.optional().meta({ unit: "mm", description: "[cut, gap] of creases." }),
        partialCutting: dash.optional().meta({ unit: "mm", description: "[cut, gap] of partial cuts." }),
      })
      .default({})
      .meta({ description: "Draws an operation that the cutter has no tool for as interrupted cuts." }),
  })
  .meta({ description: "What the knife needs beyond the designer's line." });

const pace = z.number().gt(0).max(100_000).meta({ unit: "mm/s" });
const speed = z
  .looseObject({
    cutting: pace.optional().meta({ description: "Speed of cuts." }),
    partialCutting: pace.optional().meta({ description: "Speed of partial cuts; left out: that of cuts." }),
    creasing: pace.optional().meta({ description: "Speed of creases; left out: that of cuts." }),
    perforating: pace.optional().meta({ description: "Speed of perforations; left out: that of cuts." }),
    travel: pace.meta({ description: "Speed with the tool raised." }),
    lift: z
      .number()
      .min(0)
      .max(60)
      .default(0)
      .meta({ unit: "s", description: "Seconds to raise and set down the tool." }),
  })
  .meta({ description: "Feeds the estimate of minutes; nothing else depends on it." });

const cutter = z.looseObject({
  formats: z.array(z.enum(["svg", "dxf", "hpgl", "pdf"])).min(1),
  table: z
    .tuple([length, length])
    .optional()
    .meta({ description: "What the cutter's bed holds; a larger sheet is refused." }),
  axes: axes.optional(),
  path: knifePath.optional(),
  speed: speed.optional(),
  tolerance: z.number().min(0).max(20),
  clearance: distance.meta({ unit: "mm", description: "Least distance between the bleeds of two pieces." }),
  bareClearance: distance.optional().meta({
    unit: "mm",
    description: "Least distance between the contours of two pieces of unprinted stock; left out: `clearance`.",
  }),
  margins,
  marks: z.looseObject({
    shape: z.enum(["disc", "square", "cross"]),
    size: length,
    clear: distance,
    along: z.int().min(0).max(6).default(0).meta({
      description:
        "More marks along each long edge of the sheet, for cutters that fit the cut to paper that has stretched.",
    }),
  }),
  least: z
    .looseObject({ bridge: distance.default(1), opening: distance.default(3), corner: distance.default(1) })
    .default({ bridge: 1, opening: 3, corner: 1 }),
  tools: z.looseObject({
    cutting: pen.optional(),
    creasing: pen.optional(),
    perforating: pen.optional(),
    partialCutting: pen.optional(),
  }),
});

const amount = z.number().min(0).max(1e6);
const prices = z
  .looseObject({
    currency: z
      .string()
      .regex(/^[A-Z]{3}$/)
      .meta({ description: "Three capital letters of ISO 4217, as EUR." }),
    sheet: z.record(z.string(), amount).default({}).meta({ description: "Price of one sheet by the stock's name." }),
    side: amount.optional().meta({ description: "Price of one printed side of a sheet." }),
    minute: amount.optional().meta({ description: "Price of one minute of the cutter; needs `speed`." }),
    layout: amount.optional().meta({ description: "Price of one distinct cut layout." }),
    order: amount.optional().meta({ description: "Price of handling one order." }),
  })
  .meta({ description: "Feed the estimate; whatever is left out is left out of it." });

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
    prices: prices.optional(),
    overs: z
      .looseObject({ sheets: z.int().min(0).max(100_000).default(0), share: z.number().min(0).max(1).default(0) })
      .default({ sheets: 0, share: 0 }),
  })
  .meta({ title: "A shop", description: "Stocks, presses and cutters. Lengths in millimetres." });

export type ShopForm = z.infer<typeof shopForm>;
