// The demo's artwork cut off and hit by byte errors: what comes out is the undamaged rendering, or a finding, or another file of its
// kind, told apart by where the error lies. Numbers are seeded. The quick form is a test, the long one `npm run test:damage`.
import type { Answer, Piece } from "@kitforme/kit";
import { prepare, renderPage } from "@kitforme/prepress";
import type { Layer } from "@kitforme/prepress";
import { createHash } from "node:crypto";
import { kitOf, svgMm } from "../support/kits.ts";
import { box, file, piece, press } from "./artwork-samples.ts";

export type Format = "jpeg" | "png" | "tiff" | "pdf" | "svg";

/** What a damaged file came to. `silent`: another rendering without an error or warning. */
export interface Tally {
  same: number;
  found: number;
  silent: number;
  /** Silent ones by the part of the file that was hit. */
  readonly parts: Map<string, number>;
}

/** Numerical Recipes' linear congruence: a seeded sequence from 0 to 1. */
export const sequence = (seed: number): (() => number) => {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
};

const LIMITS = { resolution: { refuse: 1, warn: 2 } };
const on = { ...press(), resolution: 100, inkLimit: 400 };

/** What is printed, as a hash: pixels of rasters, and of pages how they look. */
const printed = async (layers: readonly Layer[]): Promise<string> => {
  const hash = createHash("sha256");
  for (const layer of layers) {
    if (layer.kind === "page") hash.update((await renderPage(layer.page.bytes, 0, { width: 400, height: 400 })).data);
    else hash.update(layer.raster.id);
    hash.update(JSON.stringify(layer.box));
  }
  return hash.digest("hex");
};

/** Artwork of the front, or of the back as its reader sees it. */
export type Side = "front" | "back";

const pieceWith = (format: Format, bytes: Uint8Array, side: Side): Piece =>
  side === "front"
    ? piece(file(format, bytes))
    : piece(null, { back: { artwork: { ...file(format, bytes), behind: "back" }, mirror: box.width } });

const CUT = svgMm(20, 20, '<rect id="cut" width="20" height="20"/>');

/** A drawing comes by way of the kit, which reads it before prepress does. */
const drawnPiece = async (svg: Uint8Array, side: Side): Promise<Answer<Piece>> => {
  const artwork = { file: "a.svg", box: [0, 0, 20, 20] };
  const sides = side === "front" ? { artwork } : { artwork: null, back: { artwork, seen: "back" } };
  const form = { piece: "p", drawing: "cut.svg", stock: "card", lines: { cutting: "#cut" }, ...sides };
  const { value, findings } = await kitOf({ kit: "k", pieces: [form] }, { "cut.svg": CUT, "a.svg": svg });
  return { findings, ...(value?.pieces[0] ? { value: value.pieces[0] } : {}) };
};

const result = async (format: Format, bytes: Uint8Array, side: Side) => {
  const read =
    format === "svg" ? await drawnPiece(bytes, side) : { value: pieceWith(format, bytes, side), findings: [] };
  const { value, findings } = read.value ? await prepare(read.value, on, LIMITS) : { findings: [] };
  // Warnings that the whole file gets too are no answer to the damage.
  const heard = [...read.findings, ...findings]
    .filter(({ level }) => level !== "note")
    .map(({ rule, message }) => `${rule} ${message}`);
  const layers = side === "front" ? value?.layers : value?.back?.layers;
  return { print: layers ? await printed(layers) : undefined, heard };
};

/** Cuts a file at `cuts` offsets and changes `hits` single bytes of it, one at a time. */
export const damageRun = async (
  format: Format,
  bytes: Uint8Array,
  {
    cuts,
    hits,
    side = "front",
    seed = 20_261_128,
  }: { readonly cuts: number; readonly hits: number; readonly side?: Side; readonly seed?: number },
): Promise<{ readonly cut: Tally; readonly hit: Tally }> => {
  const whole = await result(format, bytes, side);
  if (whole.print === undefined) throw new Error(`the whole ${format} is refused: ${whole.heard.join("; ")}`);
  const next = sequence(seed);
  const tally = (): Tally => ({ same: 0, found: 0, silent: 0, parts: new Map() });
  const [cut, hit] = [tally(), tally()];
  const judge = async (damaged: Uint8Array, into: Tally, at: number): Promise<void> => {
    const { print, heard } = await result(format, damaged, side);
    if (print === undefined || heard.some((one) => !whole.heard.includes(one))) into.found++;
    else if (print === whole.print) into.same++;
    else {
      into.silent++;
      const part = partOf(format, bytes, at);
      into.parts.set(part, (into.parts.get(part) ?? 0) + 1);
    }
  };
  for (let i = 0; i < cuts; i++) {
    const at = Math.floor(next() * bytes.length);
    await judge(bytes.slice(0, at), cut, at);
  }
  for (let i = 0; i < hits; i++) {
    const at = Math.floor(next() * bytes.length);
    const damaged = bytes.slice();
    damaged[at] = ((bytes[at] as number) + 1 + Math.floor(next() * 255)) & 255;
    await judge(damaged, hit, at);
  }
  return { cut, hit };
};

/**
 * The part of a file that a byte belongs to, by the format's own structure. The names of those without redundancy, where a
 * changed byte makes another valid file, begin with "values of".
 */
export const partOf = (format: Format, bytes: Uint8Array, at: number): string => {
  if (format === "svg") return svgPart(bytes, at);
  if (format === "jpeg") return jpegPart(bytes, at);
  if (format === "pdf") return pdfPart(bytes, at);
  return format === "tiff" ? tiffPart(bytes, at) : "structure";
};

/** Digits, signs and letters within a value or a text make another; anywhere else the form shows it. */
const svgPart = (bytes: Uint8Array, at: number): string => {
  const text = Buffer.from(bytes).toString("latin1");
  const open = text.lastIndexOf("<", at);
  const inTag = open > text.lastIndexOf(">", at - 1);
  const quotes = (text.slice(open, at).match(/"/g) ?? []).length;
  return !inTag || quotes % 2 === 1 ? "values of the drawing" : "structure";
};

const jpegPart = (bytes: Uint8Array, at: number): string => {
  for (let segment = 2; segment + 4 < bytes.length; ) {
    const marker = bytes[segment + 1] as number;
    const end = segment + 2 + ((bytes[segment + 2] as number) << 8) + (bytes[segment + 3] as number);
    if (at < end) {
      const names: Readonly<Record<number, string>> = {
        0xdb: "values of quantisation tables",
        0xe2: "values of the colour profile",
        0xe1: "values of EXIF",
        0xc0: "values of the frame",
        0xc2: "values of the frame",
        0xc4: "values of code tables",
      };
      return at < segment + 4 ? "structure" : (names[marker] ?? "structure");
    }
    if (marker === 0xda) return at >= bytes.length - 2 ? "structure" : "values of coefficients";
    segment = end;
  }
  return "structure";
};

/** Objects outside streams are text; the content of streams is held by their check sums. */
const pdfPart = (bytes: Uint8Array, at: number): string => {
  const text = Buffer.from(bytes).toString("latin1");
  const start = text.lastIndexOf("stream", at);
  const inside = start >= 0 && !text.slice(start, at).includes("endstream") && text.slice(start - 3, start) !== "end";
  if (!inside) return "values of objects";
  const dict = text.slice(text.lastIndexOf("obj", start), start);
  return /\/FlateDecode/.test(dict)
    ? "structure"
    : /\/DCTDecode/.test(dict)
      ? "values of coefficients"
      : "values of streams that are not packed";
};

const tiffPart = (bytes: Uint8Array, at: number): string => {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const little = bytes[0] === 0x49;
  const start = view.getUint32(4, little);
  const end = start + 2 + 12 * view.getUint16(start, little);
  if (at >= start && at < end) return "values of tags";
  return "values of pixels without a check sum";
};
