// The whole of kit.json in one file, field by field as the reference lists them: no part of it is used without the rest.
import { z } from "zod";
import { box, coordinate, distance, extent, name, path, points, schema, textUpTo, title } from "./measures.ts";

const selector = textUpTo(10_000)
  .min(1)
  .meta({
    description:
      "CSS selector into the drawing. It may find one element, several, or a group, which stands for every shape in it.",
    examples: ["#cut", ".crease", "g[id^=fold]"],
  });

/** Percent of each of the four inks. */
const percent = z.number().min(0).max(100);
const colour = z.union([
  z.string().regex(/^#[0-9A-Fa-f]{6}$/),
  z.tuple([percent, percent, percent, percent]).meta({ description: "cyan, magenta, yellow, black in percent" }),
]);

const slot = z.looseObject({
  slot: name.meta({ description: "The name that orders fill it by; unlike any other of the kit.", examples: ["boat"] }),
  box: box.meta({
    description:
      "Where the text must fit: x, y of its top-left corner, width, height. The baseline lies a fixed way below the middle of the height; align says at which side the text stands.",
  }),
  font: path.optional().meta({
    description: "Font file of the kit (TTF, OTF, WOFF, WOFF2), relative to kit.json; left out: the bundled font.",
    examples: ["fonts/Lora-Bold.ttf"],
  }),
  fallback: z
    .array(path)
    .max(50)
    .optional()
    .meta({
      description: "Fonts of the kit for letters that the first lacks, tried in this order.",
      examples: [["fonts/NotoSansArabic-Regular.ttf"]],
    }),
  size: points.default(12).meta({ description: "Type size the text is set in when it fits.", examples: [24] }),
  leastSize: points.optional().meta({
    description: "How far a long text may shrink; left out: it may not, and a text that does not fit is an error.",
    examples: [10],
  }),
  align: z
    .enum(["left", "centre", "right"])
    .default("left")
    .meta({ description: "At which side of the box the text stands.", examples: ["centre"] }),
  valign: z
    .enum(["top", "middle", "bottom"])
    .optional()
    .meta({
      description: "Where in the height of the box the lines stand; left out: in the middle.",
      examples: ["top"],
    }),
  lines: z
    .int()
    .min(1)
    .max(50)
    .optional()
    .meta({ description: "At most so many lines, broken at spaces and line ends; left out: one.", examples: [2] }),
  leading: z
    .number()
    .min(0.5)
    .max(5)
    .optional()
    .meta({
      description:
        "From baseline to baseline, in type sizes; left out: 1.2, and more where the ink of two lines would meet.",
      examples: [1.2],
    }),
  language: z
    .string()
    .regex(/^[a-z]{2}(?:-(?:[A-Z][a-z]{3}|[A-Z]{2}))?$/, 'is not a language like "sr" or "zh-Hant"')
    .optional()
    .meta({
      description:
        "Language of the text (BCP 47: two letters, a script or a country behind them if need be), for fonts that draw some letters otherwise in it: Serbian and Bulgarian Cyrillic, Turkish i, Romanian cedillas, ideographs of Japan or China; left out: the font's usual letters.",
      examples: ["sr"],
    }),
  turn: z
    .number()
    .min(-3600)
    .max(3600)
    .optional()
    .meta({
      description: "Degrees counter-clockwise that the text is turned; the turned text fits inside the box.",
      examples: [90],
    }),
  colour: colour.default("#000000").meta({
    description:
      "Colour as # and six hexadecimal digits, or cyan, magenta, yellow, black in percent; black is printed in black ink alone.",
    examples: ["#1b3a5b", [0, 90, 80, 10]],
  }),
  outline: z
    .looseObject({
      colour: colour.meta({ description: "Its colour, written like the slot's.", examples: ["#ffffff"] }),
      width: z
        .number()
        .gt(0)
        .max(20)
        .meta({ unit: "mm", description: "How far it reaches beyond the letters.", examples: [0.6] }),
    })
    .optional()
    .meta({ description: "A line around the letters." }),
  count: z
    .looseObject({
      from: z
        .int()
        .min(0)
        .max(1_000_000_000)
        .default(1)
        .meta({ description: "Number of an order's first copy.", examples: [1] }),
      digits: z
        .int()
        .min(1)
        .max(12)
        .default(1)
        .meta({ description: "Digits, filled with zeros.", examples: [3] }),
    })
    .optional()
    .meta({ description: "The slot prints the running number of the copy; orders give no text for it." }),
  picture: z
    .boolean()
    .optional()
    .meta({ description: "true: the slot holds a picture of the buyer's instead of a text.", examples: [true] }),
  shape: selector.optional().meta({
    description: "Of a picture: the closed contour of the drawing that it is clipped to; left out: the box.",
    examples: ["#frame"],
  }),
  fit: z
    .enum(["cover", "contain"])
    .optional()
    .meta({ description: "Of a picture: fill the box, or lie whole inside it; left out: cover.", examples: ["cover"] }),
  least: z
    .number()
    .min(1)
    .max(2400)
    .optional()
    .meta({ description: "Of a picture: pixels per inch below which it is refused; left out: 150.", examples: [150] }),
  code: z
    .enum(["qr", "datamatrix"])
    .optional()
    .meta({ description: "The slot holds a code of the copy's text instead of the text itself.", examples: ["qr"] }),
  quiet: z
    .int()
    .min(0)
    .max(50)
    .optional()
    .meta({
      description: "Of a code: modules of blank paper around it; left out: 4, of a Data Matrix 1.",
      examples: [4],
    }),
  safe: distance
    .default(2)
    .meta({ description: "How far the text stays from any cut, crease or perforation.", examples: [2] }),
  required: z
    .boolean()
    .optional()
    .meta({
      description:
        "true: an order that leaves it empty is at fault. Else a line without texts leaves the slot blank; where texts are given and lack it, that is reported.",
      examples: [true],
    }),
});

const artworkFile = z
  .looseObject({
    file: path.meta({
      description: "Artwork file of the kit (SVG, PDF, PNG, JPEG, TIFF), relative to kit.json.",
      examples: ["panel.tif"],
    }),
    box: box.meta({
      description: "What the file fills, bleed of its own included: x, y, width, height in the drawing.",
      examples: [[-3, -3, 96, 66]],
    }),
    page: z
      .int()
      .min(1)
      .max(100_000)
      .optional()
      .meta({ description: "Page of a PDF, counted from 1; left out: the first.", examples: [1] }),
    from: z
      .enum(["trim", "bleed", "crop", "media"])
      .optional()
      .meta({
        description:
          "The page box that fills the artwork's box; left out: trim where present with its bleed, else crop.",
        examples: ["trim"],
      }),
  })
  .meta({ description: "Artwork from a file of its own, and the box of the drawing that it fills." });

const artwork = z
  .union([selector.meta({ description: "Selector of what is printed." }), artworkFile, z.null()])
  .optional();

const back = z
  .looseObject({
    artwork: artwork.meta({
      description:
        "What is printed there: a selector into the drawing, a file with its box, or null for nothing but its slots. Left out: nothing but its slots.",
      examples: ["#back", null],
    }),
    seen: z
      .enum(["front", "back"])
      .default("front")
      .meta({
        description:
          "front: the artwork is drawn as seen from the front, through the card; writing in it is to be drawn mirrored. back: it is drawn as a reader of the back sees it, and is mirrored about the middle of the outline (a file within its box).",
        examples: ["back"],
      }),
    slots: z.array(slot).max(1000).default([]).meta({
      description:
        "Places for the words of each copy on the reverse: boxes as seen from the front, through the card; what is set in them reads right from behind.",
    }),
  })
  .meta({
    description:
      "What the reverse prints. It lies in the same coordinates as the front: a point of it prints exactly behind that point. Needs a press of two sides.",
  });

export const pieceForm = z.looseObject({
  piece: name.meta({ description: "Name of the piece, unlike any other of the kit.", examples: ["wall"] }),
  drawing: path.meta({
    description: "The SVG with the lines of the piece, relative to kit.json.",
    examples: ["wall.svg"],
  }),
  perKit: z
    .int()
    .min(1)
    .max(10_000)
    .default(1)
    .meta({ description: "How many of it one kit takes, all with the same words.", examples: [4] }),
  stock: name.meta({ description: "The stock it is made of, as shop.json names it.", examples: ["card"] }),
  lines: z
    .looseObject({
      cutting: selector.optional().meta({ description: "Cut through. The outermost closed line is the outline." }),
      creasing: selector.optional().meta({ description: "Pressed for folding." }),
      perforating: selector.optional().meta({ description: "Perforated for tearing." }),
      partialCutting: selector.optional().meta({ description: "Cut partly through, as a sticker on its backing." }),
    })
    .meta({
      description:
        "Selector of each operation's lines. What one finds is a line, however it is painted, and is never printed.",
      examples: [{ cutting: "#cut", creasing: "#crease" }],
    }),
  artwork: artwork.meta({
    description:
      "What is printed: a selector into the drawing, a file with its box, or null for nothing. Left out: all of the drawing that is no line and not the back's.",
    examples: ["#art", null],
  }),
  size: extent.optional().meta({
    description: "The drawing's true width and height: a drawing that differs by more than 0.5 % is an error.",
    examples: [[120, 180]],
  }),
  scale: z
    .literal("fit")
    .optional()
    .meta({
      description: "fit: a drawing of another unit but the same proportions is scaled to size.",
      examples: ["fit"],
    }),
  bleed: z
    .number()
    .min(0)
    .max(50)
    .optional()
    .meta({
      unit: "mm",
      description: "How far the picture is carried beyond the cut; left out: the press's bleed.",
      examples: [3],
    }),
  gap: z
    .number()
    .min(0)
    .max(5)
    .default(0.3)
    .meta({
      unit: "mm",
      description:
        "Artwork that stops short of the cut by no more is carried out to it and beyond; what ends farther inside ends on purpose, and paper is its bleed.",
      examples: [0.3],
    }),
  grain: z
    .enum(["vertical", "horizontal"])
    .optional()
    .meta({
      description: "The way the paper's fibres must run in the drawing; left out: either.",
      examples: ["vertical"],
    }),
  turns: z
    .union([
      z.literal("any").meta({ description: "Any angle." }),
      z.array(z.number().min(-3600).max(3600)).min(1).max(3600).meta({ description: "These angles only." }),
    ])
    .optional()
    .meta({
      unit: "degrees counter-clockwise",
      description: "Allowed turns on the sheet; left out: 0, 90, 180, 270. What grain forbids is left out of them.",
      examples: [[0, 180], "any"],
    }),
  spread: z
    .enum(["nearest", "soft"])
    .default("nearest")
    .meta({
      description:
        "How bleed is made where the artwork ends at the cut: nearest repeats the colour at the edge, soft blurs it outwards, for photographs.",
      examples: ["soft"],
    }),
  slots: z.array(slot).max(1000).default([]).meta({ description: "Places for the words of each copy." }),
  back: back.optional(),
});

const joined = {
  piece: name.meta({ description: "A piece of the kit.", examples: ["wall"] }),
  at: z.tuple([coordinate, coordinate]).meta({
    unit: "mm",
    description: "x, y in that piece's drawing: from its top-left corner, y down.",
    examples: [[12, 40]],
  }),
};

const join = z.looseObject({
  tab: z
    .string()
    .regex(/^[A-Za-z0-9]{1,3}$/)
    .meta({ description: "The letter of the join: up to three letters or digits.", examples: ["A"] }),
  ...joined,
  into: z.looseObject(joined).meta({ description: "Where it goes: a piece of the kit, and the place on it." }),
});

/** kit.json as written. Fields beyond these are warned of and ignored. */
export const kitForm = z
  .looseObject({
    $schema: schema,
    kit: name.meta({ description: "Name that orders call the kit by; its folder's name too.", examples: ["lantern"] }),
    title: title.optional().meta({
      description: "Name for people, on papers and screens; left out: the kit's name.",
      examples: ["Harbour lantern"],
    }),
    fonts: z
      .array(path)
      .max(50)
      .optional()
      .meta({
        description: "Fonts of the kit for letters that a slot's own fonts lack, and for the text in drawings.",
        examples: [["fonts/NotoSansHebrew-Bold.ttf"]],
      }),
    assembly: path.optional().meta({
      description: "A PDF of steps that goes with each kit: its pages follow the assembly sheet. At most 40 pages.",
      examples: ["steps.pdf"],
    }),
    joins: z.array(join).max(1000).optional().meta({
      description: "Which tab goes into which slit: each letter stands at both places on the assembly sheet.",
    }),
    pieces: z.array(pieceForm).min(1).max(1000).meta({ description: "The pieces of the kit, in any order." }),
  })
  .meta({
    title: "kit.json",
    description:
      "A folder with kit.json, drawings, pictures and fonts: pieces with their lines, artwork and slots. Paths are relative to the folder and never leave it.",
  });

export type KitForm = z.infer<typeof kitForm>;
export type PieceForm = KitForm["pieces"][number];
export type SlotForm = PieceForm["slots"][number];
