// Pieces, pictures and pages made for one test each, and a way to ask what a prepared piece prints at a place.
import type { Contour, Outline } from "@kitforme/geometry";
import type { Artwork, Piece, Press } from "@kitforme/kit";
import { type Layer, prepare, type PrepareOptions, type Raster } from "@kitforme/prepress";
import { PDFDocument, type PDFObject, PDFName } from "pdf-lib";

const mm = (millimetres: number): number => Math.round(millimetres * 1000);

/** 254 ppi: ten pixels a millimetre. */
export const press = (colour: Press["colour"] = "cmyk"): Press => ({
  name: "digital",
  margins: { top: 5000, right: 5000, bottom: 5000, left: 5000 },
  resolution: 254,
  bleed: 2000,
  colour,
  register: 500,
});

export const square = (x: number, y: number, side: number): Contour<"drawing"> => [
  { x: mm(x), y: mm(y) },
  { x: mm(x + side), y: mm(y) },
  { x: mm(x + side), y: mm(y + side) },
  { x: mm(x), y: mm(y + side) },
];

const whole: Outline<"drawing"> = { outer: square(0, 0, 20), openings: [] };
export const box = { x: 0, y: 0, width: mm(20), height: mm(20) };

/** A square of 20 mm. */
export const piece = (artwork: Artwork | null, more: Partial<Piece> = {}): Piece => ({
  kit: "kit",
  piece: "piece",
  perKit: 1,
  stock: "card",
  size: { width: mm(20), height: mm(20) },
  parts: [whole],
  lines: [],
  artwork,
  turns: "any",
  spread: "nearest",
  slots: [],
  ...more,
});

export const file = (
  format: "svg" | "pdf" | "png" | "jpeg" | "tiff" | "webp" | "avif",
  bytes: Uint8Array,
  place = box,
): Extract<Artwork, { kind: "file" }> => ({ kind: "file", format, bytes, box: place, file: `artwork.${format}` });

/** As `prepare`, with drawings as pixels: what those are is asked for by place. */
export const prepareInPixels = (
  one: Piece,
  on: Press | null,
  options: PrepareOptions = {},
): ReturnType<typeof prepare> => prepare(one, on, { ...options, vectors: false });

/** A drawing of 20 mm, as the kit hands it over: one unit is one millimetre. */
export const drawing = (body: string): Artwork => ({
  kind: "drawing",
  svg: `<svg xmlns="http://www.w3.org/2000/svg" width="100px" height="100px" viewBox="0 0 20 20">${body}</svg>`,
  box,
  file: "drawing.svg",
});

/** A PDF page of 20 mm with a content stream and resources written as plain values. */
export const page = async (
  content: string,
  resources: Readonly<Record<string, object>> = {},
  entries: Readonly<Record<string, object | number>> = {},
  finish: (document: PDFDocument) => Promise<void> | void = () => {},
): Promise<Uint8Array> => {
  const document = await PDFDocument.create({ updateMetadata: false });
  const { node } = document.addPage([PT(20), PT(20)]);
  const { context } = document;
  node.set(PDFName.of("Contents"), context.register(context.stream(content)));
  for (const [key, value] of Object.entries(resources))
    node.Resources()?.set(PDFName.of(key), context.obj(value as never) as PDFObject);
  for (const [key, value] of Object.entries(entries))
    node.set(PDFName.of(key), context.obj(value as never) as PDFObject);
  await finish(document);
  return document.save({ useObjectStreams: false });
};

/** Millimetres to points. */
export const PT = (millimetres: number): number => (millimetres * 72) / 25.4;

const inside = (rings: readonly Contour[], x: number, y: number): boolean => {
  let odd = false;
  for (const ring of rings)
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[i], ring[j]] as [Contour[number], Contour[number]];
      if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) odd = !odd;
    }
  return odd;
};

const covers = ({ box: { x, y, width, height }, clip }: Layer, px: number, py: number): boolean =>
  px >= x && px < x + width && py >= y && py < y + height && (!clip || inside(clip, px, py));

export const rasterOf = (layer: Layer | undefined): Raster => {
  if (layer?.kind !== "raster") throw new Error(`wanted a raster and got ${layer?.kind}`);
  return layer.raster;
};

/** Values of the topmost raster at a place in mm; "page" where vectors are on top, undefined where nothing prints. */
export const valuesAt = (
  layers: readonly Layer[],
  x: number,
  y: number,
): readonly number[] | "page" | "jpeg" | undefined => {
  const [px, py] = [x * 1000, y * 1000];
  const layer = layers.findLast((one) => covers(one, px, py));
  if (!layer) return undefined;
  if (layer.kind === "page") return "page";
  const { width, height, space, data } = layer.raster;
  if (data.kind === "jpeg") return "jpeg";
  const channels = { grey: 1, rgb: 3, cmyk: 4 }[space];
  const column = Math.floor(((px - layer.box.x) / layer.box.width) * width);
  const row = Math.floor(((py - layer.box.y) / layer.box.height) * height);
  return [...data.bytes.subarray((row * width + column) * channels, (row * width + column + 1) * channels)];
};

/** The same over rasters only, as if no page lay on top. */
export const ringAt = (
  layers: readonly Layer[],
  x: number,
  y: number,
): readonly number[] | "page" | "jpeg" | undefined =>
  valuesAt(
    layers.filter(({ kind }) => kind === "raster"),
    x,
    y,
  );

/** An unpacked TIFF of one colour, 200 x 200 pixels, as TIFF 6.0 lays it out; `more` are tags of one number. */
export const plainTiff = (
  kind: number,
  values: readonly number[],
  bits: 8 | 16,
  more: Readonly<Record<number, number>> = {},
) => {
  const [side, count] = [200, values.length];
  const pixel = Buffer.alloc((count * bits) / 8);
  for (const [i, value] of values.entries()) pixel.writeUIntLE(value, (i * bits) / 8, bits / 8);
  const bitsAt = 8 + pixel.length * side * side;
  const size = { 256: side, 257: side, 258: bitsAt, 278: side };
  const tags = Object.entries({ ...size, 259: 1, 262: kind, 273: 8, 277: count, 279: bitsAt - 8, 284: 1, ...more });
  const body = Buffer.alloc(bitsAt - 8, pixel);
  const head = Buffer.from([0x49, 0x49, 42, 0, 0, 0, 0, 0]);
  const depths = Buffer.alloc(2 * count);
  for (let i = 0; i < count; i++) depths.writeUInt16LE(bits, 2 * i);
  head.writeUInt32LE(bitsAt + depths.length, 4);
  const directory = Buffer.alloc(2 + 12 * tags.length + 4);
  directory.writeUInt16LE(tags.length, 0);
  for (const [i, [tag, value]] of tags.entries()) {
    const at = 2 + 12 * i;
    directory.writeUInt16LE(Number(tag), at);
    const long = tag === "273" || tag === "279" || tag === "258";
    directory.writeUInt16LE(tag === "258" ? 3 : long ? 4 : 3, at + 2);
    directory.writeUInt32LE(tag === "258" ? count : 1, at + 4);
    directory.writeUInt32LE(value, at + 8);
  }
  return Buffer.concat([head, body, depths, directory]);
};
