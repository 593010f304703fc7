import { z } from "zod";
import { box, distance, extent, name, path, points, schema } from "./measures.ts";

const selector = z.string().min(1).max(10_000).meta({ description: "CSS selector into the drawing" });

const slot = z.looseObject({
  slot: name,
  box,
  font: path.optional(),
  fallback: z.array(path).max(50).optional(),
  size: points.default(12),
  leastSize: points.optional().meta({ description: "left out: the text may not shrink" }),
  align: z.enum(["left", "centre", "right"]).default("left"),
  colour: z
    .string()
    .regex(/^#[0-9A-Fa-f]{6}$/)
    .default("#000000"),
  safe: distance.default(2),
  required: z.boolean().optional().meta({ description: "true: an order that leaves it empty is at fault" }),
});

const artworkFile = z.looseObject({
  file: path,
  box,
  page: z.int().min(1).max(100_000).optional().meta({ description: "page of a PDF, counted from 1" }),
  from: z.enum(["trim", "bleed", "crop", "media"]).optional().meta({
    description: "the page box that fills the artwork's box; left out: trim where present with its bleed, else crop",
  }),
});

export const pieceForm = z.looseObject({
  piece: name,
  drawing: path,
  perKit: z.int().min(1).max(10_000).default(1),
  stock: name,
  lines: z.looseObject({
    cutting: selector.optional(),
    creasing: selector.optional(),
    perforating: selector.optional(),
    partialCutting: selector.optional(),
  }),
  artwork: z.union([selector, artworkFile, z.null()]).optional(),
  size: extent.optional(),
  scale: z.literal("fit").optional().meta({ description: "scales a drawing of the same proportions to size" }),
  bleed: z.number().min(0).max(50).optional(),
  gap: z.number().min(0).max(5).default(0.3).meta({
    unit: "mm",
    description:
      "artwork that stops short of the cut by no more is carried out to it and beyond; what ends farther inside ends on purpose and paper is its bleed",
  }),
  grain: z.enum(["vertical", "horizontal"]).optional(),
  turns: z
    .union([z.literal("any"), z.array(z.number().min(-3600).max(3600)).min(1).max(3600)])
    .optional()
    .meta({ description: "degrees counter-clockwise, or any" }),
  spread: z.enum(["nearest", "soft"]).default("nearest"),
  slots: z.array(slot).max(1000).default([]),
});

/** kit.json as written. Fields beyond these are warned of and ignored. */
export const kitForm = z
  .looseObject({
    $schema: schema,
    kit: name,
    title: z.string().max(1000).optional(),
    fonts: z
      .array(path)
      .max(50)
      .optional()
      .meta({ description: "fallback fonts of every slot, and the fonts of text in drawings" }),
    pieces: z.array(pieceForm).min(1).max(1000),
  })
  .meta({ title: "A kit", description: "Pieces with drawings, lines, artwork and slots. Lengths in millimetres." });

export type KitForm = z.infer<typeof kitForm>;
export type PieceForm = KitForm["pieces"][number];
export type SlotForm = PieceForm["slots"][number];
