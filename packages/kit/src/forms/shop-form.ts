// The whole of shop.json in one file, field by field as the reference lists them: no part of it is used without the rest.
import { z } from "zod";
import { coordinate, distance, extent, length, margins, name, path, schema, title } from "./measures.ts";

const stock = z.looseObject({
  title: title.optional().meta({
    description: "Name for people, on papers and screens; left out: the stock's name.",
    examples: ["White card 270 g/m2"],
  }),
  sheet: extent.meta({
    description: "Width and height of the preferred sheet, as it lies on the press and on the cutter.",
    examples: [[320, 450]],
  }),
  sheets: z
    .array(extent)
    .max(100)
    .optional()
    .meta({ description: "More sizes on hand, used where they cost less.", examples: [[[450, 640]]] }),
  caliper: z
    .number()
    .gt(0)
    .max(50)
    .optional()
    .meta({
      unit: "mm",
      description: "Thickness of one sheet. How near creases may lie to each other and to cuts goes by it.",
      examples: [0.34],
    }),
  grain: z
    .enum(["long", "short"])
    .optional()
    .meta({
      description: "Whether the fibres run along the longer or the shorter side of the sheet; left out: not known.",
      examples: ["long"],
    }),
  press: name.nullable().meta({
    description: "The press that prints it, as presses names it; null: it is not printed.",
    examples: ["digital", null],
  }),
  cutter: name.meta({ description: "The cutter that cuts it, as cutters names it.", examples: ["flatbed"] }),
});

const press = z.looseObject({
  margins: margins.meta({ description: "What the press cannot print at each edge of the sheet." }),
  resolution: z
    .number()
    .min(30)
    .max(4800)
    .meta({
      unit: "pixels per inch",
      description: "Resolution of whatever has to be turned into pixels; pictures of much less are reported.",
      examples: [300],
    }),
  bleed: z
    .number()
    .min(0)
    .max(50)
    .meta({
      unit: "mm",
      description: "How far pictures are carried beyond the cut, unless a piece says otherwise.",
      examples: [3],
    }),
  colour: z
    .enum(["cmyk", "rgb", "grey"])
    .meta({ description: "The colours the press is fed with.", examples: ["cmyk"] }),
  profile: path.optional().meta({
    description:
      "ICC output profile of the press, a file beside shop.json; or one that comes with kitforme: `FOGRA39` (coated paper), `FOGRA29` (uncoated white paper). Left out: FOGRA39 with `cmyk`, sRGB with `rgb`.",
    examples: ["profiles/house.icc", "FOGRA29"],
  }),
  intent: z
    .enum(["perceptual", "relative", "saturation"])
    .optional()
    .meta({
      description: "How colours beyond the press are met; left out: perceptual. Black-point compensation is always on.",
      examples: ["relative"],
    }),
  inkLimit: z
    .number()
    .min(100)
    .max(400)
    .optional()
    .meta({
      unit: "%",
      description: "Most ink anywhere, the sum of the plates; left out: the profile's own where known, else 300.",
      examples: [280],
    }),
  spots: z
    .enum(["keep", "convert"])
    .optional()
    .meta({
      description:
        "What becomes of spot inks in artwork. `keep`: each stays a plate of its own. `convert`: each becomes process inks, by what stands for it in its file. Left out: keep.",
      examples: ["convert"],
    }),
  register: z
    .number()
    .min(0)
    .max(20)
    .default(0.5)
    .meta({
      unit: "mm",
      description: "How far the print may lie from where it should on the sheet, and that of one side from the other.",
      examples: [0.5],
    }),
  sides: z
    .union([z.literal(1), z.literal(2)])
    .optional()
    .meta({ description: "2: it prints both sides of a sheet. Left out: one.", examples: [2] }),
  turn: z
    .enum(["long", "short"])
    .optional()
    .meta({
      description:
        "The edge that the sheet is turned over for its back: the back's page of a print PDF lies accordingly. Left out: the longer one.",
      examples: ["long"],
    }),
  feed: z
    .enum(["top", "right", "bottom", "left"])
    .optional()
    .meta({
      description: "The edge that goes into the press first, as the page of the print PDF lies; the slug names it.",
      examples: ["bottom"],
    }),
  colourBar: z.boolean().optional().meta({
    description:
      "true: patches of every ink of the sheet, solid and at 50 %, are printed where the waste has room for them.",
  }),
  registerTarget: z
    .boolean()
    .optional()
    .meta({ description: "true: crosses of all inks at two ends of the sheet, where the waste has room for them." }),
  scaleBar: z.boolean().optional().meta({
    description:
      "true: a ruler of 100 mm, or of 50 mm, where the waste has room for it: it shows whether the sheet was printed at 100 %.",
  }),
  files: z
    .enum(["single", "whole", "both"])
    .optional()
    .meta({
      description:
        "single: a print PDF for each sheet. whole: one of all sheets, a page after the other, in which pictures that sheets share lie once. both: both. Left out: single.",
      examples: ["whole"],
    }),
});

const pen = z.looseObject({
  pen: z
    .int()
    .min(1)
    .max(255)
    .meta({
      description: "Number of the tool in HP-GL (SP); SVG, DXF and PDF name the operation, by group or layer.",
      examples: [1],
    }),
});

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
      .meta({ description: "Added to X and Y in HP-GL and DXF, after origin and swap." }),
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
  formats: z
    .array(z.enum(["svg", "dxf", "hpgl", "pdf"]))
    .min(1)
    .meta({ description: "Kinds of cut files to write.", examples: [["svg", "dxf"]] }),
  table: z
    .tuple([length, length])
    .optional()
    .meta({ description: "What the cutter's bed holds; a larger sheet is refused." }),
  axes: axes.optional(),
  path: knifePath.optional(),
  speed: speed.optional(),
  tolerance: z
    .number()
    .min(0)
    .max(20)
    .meta({ unit: "mm", description: "How far a cut may land from where it should.", examples: [1] }),
  clearance: distance.meta({ unit: "mm", description: "Least distance between the bleeds of two pieces." }),
  bareClearance: distance.optional().meta({
    unit: "mm",
    description: "Least distance between the contours of two pieces of unprinted stock; left out: `clearance`.",
  }),
  margins: margins.meta({ description: "What the cutter cannot reach at each edge of the sheet." }),
  marks: z
    .looseObject({
      shape: z
        .enum(["disc", "square", "cross"])
        .meta({ description: "Shape of the marks that the cutter's camera looks for.", examples: ["disc"] }),
      size: length.meta({ description: "Diameter or side of a mark.", examples: [5] }),
      clear: distance.meta({
        description:
          "Blank paper around each mark. At least 0.5 mm are kept, and 0.7 mm more than the register where both sides are printed.",
        examples: [2],
      }),
      along: z.int().min(0).max(6).default(0).meta({
        description:
          "More marks along each long edge of the sheet, for cutters that fit the cut to paper that has stretched.",
      }),
    })
    .meta({ description: "Marks printed for the cutter's camera." }),
  least: z
    .looseObject({
      bridge: distance.default(1).meta({ description: "Least width of paper between two cuts that holds." }),
      opening: distance.default(3).meta({ description: "Longer side of the smallest opening that can be cut." }),
      corner: distance
        .default(1)
        .meta({ description: "Least distance between two corners that the blade can go round." }),
    })
    .default({ bridge: 1, opening: 3, corner: 1 })
    .meta({ description: "What the blade can leave and go round; what is less is reported with its place." }),
  tools: z
    .looseObject({
      cutting: pen.optional().meta({ description: "The tool that cuts through." }),
      creasing: pen.optional().meta({ description: "The tool that creases." }),
      perforating: pen.optional().meta({ description: "The tool that perforates." }),
      partialCutting: pen.optional().meta({ description: "The tool that cuts partly through." }),
    })
    .meta({ description: "The tool of each operation; a piece with an operation that has none is refused." }),
});

const amount = z.number().min(0).max(1e6);
const prices = z
  .looseObject({
    currency: z
      .string()
      .regex(/^[A-Z]{3}$/)
      .meta({ description: "Three capital letters of ISO 4217, as EUR." }),
    sheet: z
      .record(z.string(), amount)
      .default({})
      .meta({ description: "Price of one sheet, in `currency`, by the stock's name." }),
    side: amount.optional().meta({ description: "Price of one printed side of a sheet, in `currency`." }),
    minute: amount.optional().meta({ description: "Price of one minute of the cutter, in `currency`; needs `speed`." }),
    layout: amount.optional().meta({ description: "Price of one distinct cut layout, in `currency`." }),
    order: amount.optional().meta({ description: "Price of handling one order, in `currency`." }),
  })
  .meta({ description: "Feed the estimate; whatever is left out is left out of it." });

/** shop.json as written. Fields beyond these are warned of and ignored. */
export const shopForm = z
  .looseObject({
    $schema: schema,
    stocks: z.record(name, stock.meta({ description: "One stock, by the shop's name for it." })).meta({
      description: "Papers and boards on hand, by names that pieces use.",
    }),
    presses: z
      .record(name, press.meta({ description: "One press, by the shop's name for it." }))
      .default({})
      .meta({ description: "Presses, by names that stocks use." }),
    cutters: z.record(name, cutter.meta({ description: "One cutter, by the shop's name for it." })).meta({
      description: "Cutters, by names that stocks use.",
    }),
    setup: z
      .looseObject({
        sheetChange: z
          .number()
          .min(0)
          .max(1e9)
          .meta({ description: "Cost of one more sheet.", examples: [1] }),
        newLayout: z
          .number()
          .min(0)
          .max(1e9)
          .meta({ description: "Cost of one more distinct layout.", examples: [20] }),
      })
      .default({ sheetChange: 1, newLayout: 20 })
      .meta({
        description:
          "What one more sheet and one more layout cost in relation to each other; the plan makes their sum least.",
      }),
    prices: prices.optional(),
    proof: z.enum(["off", "marks", "full"]).default("marks").meta({
      description:
        "How far the written files of a job are tried before it is finished. `marks`: marks and code are found in the print, every cut file is read back. `full`: the whole print is compared with the artwork besides, and laid under the cuts.",
    }),
    gang: z
      .looseObject({
        fill: z.number().min(0).max(1).optional().meta({
          description: "A gang closes when its last sheet is filled to this share; left out: 0.6.",
        }),
        wait: z.number().min(0).optional().meta({
          description: "It closes when its oldest order has waited so long; left out: 240.",
          unit: "minutes",
        }),
        lead: z.number().min(0).optional().meta({
          description: "It closes when a member is due within so long; left out: 24.",
          unit: "hours",
        }),
      })
      .optional()
      .meta({
        description: "When orders that wait in the queue are made together; left out: those of each submission.",
      }),
    fonts: z
      .array(path)
      .max(16)
      .optional()
      .meta({
        description:
          "Fonts for addresses on packing slips, files beside shop.json, tried in turn where the papers' own font (Latin, Greek, Cyrillic) and the ordered kits' fonts lack a letter; left out: none.",
        examples: [["fonts/NotoSansJP-Regular.otf"]],
      }),
    overs: z
      .looseObject({
        sheets: z.int().min(0).max(100_000).default(0).meta({ description: "More sheets of each layout." }),
        share: z.number().min(0).max(1).default(0).meta({ description: "Share of the run, from 0 to 1." }),
      })
      .default({ sheets: 0, share: 0 })
      .meta({ description: "Copies beyond the orders for spoilage; pieces with words of their own never get any." }),
  })
  .meta({
    title: "shop.json",
    description: "One shop: its stocks, presses and cutters. Names inside it are the shop's own.",
  });

export type ShopForm = z.infer<typeof shopForm>;
