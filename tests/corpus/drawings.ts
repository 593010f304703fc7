// Real drawings as the artwork of a card, held against an independent renderer that is given the designer's own file.
import { readFileSync } from "node:fs";
import { Resvg } from "@resvg/resvg-js";
import { differing } from "../../packages/prepress/src/artwork/differing.ts";
import { type Fared, type Source, sampleOf } from "./corpus.ts";
import { makeCard, RESOLUTION } from "./make-piece.ts";
import { samplesOf } from "./samples-of.ts";

const SOURCES: readonly Source[] = [
  { package: "openclipart-svg", folder: "/usr/share/openclipart/svg" },
  { package: "tango-icon-theme", folder: "/usr/share/icons/Tango" },
  { package: "iso-flags-svg", folder: "/usr/share/iso-flags-svg" },
  { package: "inkscape", folder: "/usr/share/inkscape/examples" },
];

/** Rules that say that a drawing may look otherwise than meant; how it lies on the card is no word about that. */
const ABOUT_LOOKS = /^(drawing-seen-|font-|letter-|paint-|variable-|colour-|picture-|style-|stroke-|text-)/;

/** Pixels of the drawing's longer side. */
const SIDE = 300;

const FONTS = ["Regular", "SemiBold"].map(
  (weight) => new URL(`../../packages/prepress/fonts/NotoSans-${weight}.ttf`, import.meta.url).pathname,
);

/**
 * The designer's file, but for two things that the independent renderer stumbles over before it draws: a document type, and a
 * root without the namespace of SVG.
 */
const drawable = (bytes: Buffer): Buffer | string => {
  const text = bytes.toString("utf8");
  const doctype = /<!DOCTYPE[^[>]*>/.exec(text.slice(0, 20_000))?.[0];
  const root = /<svg\b[^>]*>/.exec(text)?.[0] ?? "";
  const named = /xmlns\s*=/.test(root);
  if (doctype === undefined && named) return bytes;
  return text
    .replace(doctype ?? "\u0000", "")
    .replace(root, named ? root : root.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"'));
};

const independent = (file: Buffer, width?: number): ReturnType<Resvg["render"]> | Resvg => {
  const drawing = new Resvg(drawable(file), {
    ...(width === undefined ? {} : { fitTo: { mode: "width", value: width } }),
    background: "#ffffff",
    font: { loadSystemFonts: false, fontFiles: FONTS, defaultFontFamily: "Noto Sans" },
  });
  return width === undefined ? drawing : drawing.render();
};

/** How one drawing fares; `views` are the two renderings, RGB. */
export const fareOf = async (
  file: string,
): Promise<Fared & { readonly views?: readonly [Uint8Array, Uint8Array, number, number] }> => {
  const bytes = readFileSync(file);
  let size: { readonly width: number; readonly height: number } | undefined;
  try {
    const { width, height } = independent(bytes) as Resvg;
    if (width > 0 && height > 0 && Math.max(width / height, height / width) < 40) size = { width, height };
  } catch {
    size = undefined;
  }
  const { width, height } = size ?? { width: 1, height: 1 };
  // As wide as whole pixels: the independent renderer is asked for a width in pixels, and its scale follows from it.
  const pixels = Math.max(1, Math.round((SIDE * width) / Math.max(width, height)));
  const wide = (pixels * 25.4) / RESOLUTION;
  const high = (wide * height) / width;
  const { findings, layers } = await makeCard("artwork.svg", bytes, wide, high);
  const refused = [...new Set(findings.filter((f) => f.level === "error").map((f) => f.rule))];
  const told = [...new Set(findings.filter((f) => f.level !== "error").map((f) => f.rule))].filter((rule) =>
    ABOUT_LOOKS.test(rule),
  );
  if (!layers || !size) return { file, refused, told };
  try {
    const ours = samplesOf(layers, wide, high);
    const drawn = independent(bytes, pixels) as ReturnType<Resvg["render"]>;
    const rows = Math.min(ours.height, drawn.height);
    const theirs = new Uint8Array(3 * ours.width * rows);
    const samples = drawn.pixels;
    for (let at = 0; at < ours.width * rows; at++)
      for (let c = 0; c < 3; c++) theirs[3 * at + c] = samples[4 * at + c] as number;
    const mine = ours.rgb.subarray(0, 3 * ours.width * rows);
    const { mask } = differing(mine, theirs, ours.width, rows);
    // The outermost pixels are cut through by the drawing's edge, by each renderer in its own way.
    let count = 0;
    for (let y = 1; y < rows - 1; y++)
      for (let x = 1; x < ours.width - 1; x++) count += mask[y * ours.width + x] as number;
    const differs = count / (ours.width * rows);
    const printed = layers.some(({ kind }) => kind === "page") ? "vectors" : "pixels";
    return { file, refused, told, printed, differs, views: [mine, theirs, ours.width, rows] };
  } catch {
    return { file, refused, told };
  }
};

/** Every drawing of the sample, one after the other. */
export const drawings = async (
  most: number,
  onEach: (fared: Awaited<ReturnType<typeof fareOf>>, done: number) => void,
): Promise<{ readonly all: readonly Fared[]; readonly missing: readonly string[] }> => {
  const { files, missing } = sampleOf(SOURCES, /\.svg$/i, most);
  const all: Fared[] = [];
  for (const [done, file] of files.entries()) {
    const fared = await fareOf(file);
    onEach(fared, done + 1);
    const { views: _, ...kept } = fared;
    all.push(kept);
  }
  return { all, missing };
};
