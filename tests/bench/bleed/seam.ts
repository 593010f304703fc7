// The seam between ring and artwork, in three renderers: flat colour, a ring in tiles under the artwork, drawn at resolutions
// that fall between the pixels. Every pixel that differs from the colour inside the reach is a seam.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { type Contour, grow, type Outline } from "@kitforme/geometry";
import { makeBleed, type PixelGrid, rasterise } from "@kitforme/bleed";
import { renderPage } from "@kitforme/prepress";
import { PDFDocument, PDFName } from "pdf-lib";
import sharp from "sharp";
import { BLEED, CANVAS, CONTOURS } from "./contours.ts";
import { atMost, type Measured } from "./measure.ts";
import { inFolder } from "./peers.ts";

const COLOUR = [27, 58, 91] as const;
const POINTS_PER_UM = 72 / 25_400;
const { width: WIDE, height: HIGH } = CANVAS;

const path = (rings: readonly Contour<"drawing">[]): string =>
  rings
    .map((ring) => {
      const points = ring.map(
        ({ x, y }) => `${(x * POINTS_PER_UM).toFixed(4)} ${((HIGH - y) * POINTS_PER_UM).toFixed(4)}`,
      );
      return `${points[0]} m ${points
        .slice(1)
        .map((p) => `${p} l`)
        .join(" ")} h`;
    })
    .join(" ");

/** A page with the ring of flat artwork and the artwork on it, as the print file has them. */
const pageOf = async (
  name: "net" | "blob",
  under: boolean,
): Promise<{ pdf: Uint8Array; reach: Outline<"drawing">[] }> => {
  const [width, height] = [2400, 3000];
  const data = Uint8Array.from({ length: width * height * 3 }, (_, i) => COLOUR[i % 3] as number);
  const grid: PixelGrid = { width, height, channels: 3, depth: 8, data, alpha: false, box: CANVAS };
  const parts = [CONTOURS[name]];
  const reach = grow(parts, BLEED);
  const made = makeBleed({
    grid,
    parts,
    reach,
    bleed: BLEED,
    source: "clean",
    ownBleed: false,
    gap: 300,
    spread: "nearest",
  });
  if ("empty" in made) throw new Error("no source");
  const doc = await PDFDocument.create({ updateMetadata: false });
  const page = doc.addPage([WIDE * POINTS_PER_UM, HIGH * POINTS_PER_UM]);
  const { context } = doc;
  const images = context.obj({});
  const image = (pixels: Uint8Array, w: number, h: number, key: string): void => {
    const stream = context.flateStream(pixels, {
      Type: "XObject",
      Subtype: "Image",
      Width: w,
      Height: h,
      ColorSpace: "DeviceRGB",
      BitsPerComponent: 8,
    });
    images.set(PDFName.of(key), context.register(stream));
  };
  const rings = reach.flatMap(({ outer, openings }) => [outer, ...openings]);
  const draw = (box: { x: number; y: number; width: number; height: number }, key: string): string => {
    const [w, h] = [box.width * POINTS_PER_UM, box.height * POINTS_PER_UM];
    return `q ${w} 0 0 ${h} ${box.x * POINTS_PER_UM} ${(HIGH - box.y - box.height) * POINTS_PER_UM} cm /${key} Do Q`;
  };
  const tiles = made.tiles.map((tile, n) => {
    image(tile.data, tile.width, tile.height, `T${n}`);
    return draw(tile.box, `T${n}`);
  });
  image(data, width, height, "A");
  const content = [
    // Without the underlap, as a control: the ring is clipped where the artwork begins.
    `q ${path(under ? rings : [...rings, ...made.keep])} W* n ${tiles.join(" ")} Q`,
    `q ${path(made.keep)} W* n ${draw(CANVAS, "A")} Q`,
  ].join("\n");
  page.node.set(PDFName.of("Contents"), context.register(context.flateStream(content)));
  page.node.set(PDFName.of("Resources"), context.obj({ XObject: images }));
  return { pdf: await doc.save({ useObjectStreams: false }), reach };
};

/** Pixels inside the reach, two from its edge (notches between two arcs included), that are not the colour. */
const seamPixels = ({ data, width, height, channels }: Drawn, reach: readonly Outline<"drawing">[]): number => {
  const deep = grow(reach, -Math.ceil((2 * WIDE) / width));
  const rings = deep
    .flatMap(({ outer, openings }) => [outer, ...openings])
    .map((ring) => Float64Array.from(ring.flatMap(({ x, y }) => [(x / WIDE) * width, (y / HIGH) * height])));
  const set = rasterise(rings, width, height);
  let off = 0;
  let seen = 0;
  for (let y = 0; y < height; y++)
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2)
      for (let x = set.ends[i] as number; x < (set.ends[i + 1] as number); x++, seen++)
        if (COLOUR.some((v, c) => Math.abs((data[(y * width + x) * channels + c] as number) - v) > 2)) off++;
  if (seen < 10_000) throw new Error("nothing was looked at");
  return off;
};

interface Drawn {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
  readonly channels: number;
}

const fromPng = async (file: string): Promise<Drawn> => {
  const { data, info } = await sharp(readFileSync(file)).removeAlpha().raw().toBuffer({ resolveWithObject: true });
  return { data, width: info.width, height: info.height, channels: info.channels };
};

const RENDERERS: Readonly<Record<string, (pdf: Uint8Array, ppi: number, folder: string) => Promise<Drawn>>> = {
  poppler: (pdf, ppi, folder) => {
    writeFileSync(`${folder}/in.pdf`, pdf);
    execFileSync("pdftoppm", ["-r", `${ppi}`, "-singlefile", "-png", `${folder}/in.pdf`, `${folder}/poppler`]);
    return fromPng(`${folder}/poppler.png`);
  },
  Ghostscript: (pdf, ppi, folder) => {
    writeFileSync(`${folder}/in.pdf`, pdf);
    execFileSync("gs", [
      "-q",
      "-dBATCH",
      "-dNOPAUSE",
      "-dSAFER",
      "-sDEVICE=png16m",
      `-r${ppi}`,
      "-dGraphicsAlphaBits=4",
      `-sOutputFile=${folder}/gs.png`,
      `${folder}/in.pdf`,
    ]);
    return fromPng(`${folder}/gs.png`);
  },
  PDFium: async (pdf, ppi) => {
    const [width, height] = [Math.round((WIDE / 25_400) * ppi), Math.round((HIGH / 25_400) * ppi)];
    return { ...(await renderPage(pdf, 0, { width, height })), channels: 4 };
  },
};

/** Seam pixels by renderer; a renderer that is not installed is left out. */
export const seamsOf = async (name: "net" | "blob", ppi: number, under = true): Promise<Record<string, number>> => {
  const { pdf, reach } = await pageOf(name, under);
  const found: Record<string, number> = {};
  for (const [renderer, draw] of Object.entries(RENDERERS))
    await inFolder(async (folder) => {
      try {
        found[renderer] = seamPixels(await draw(pdf, ppi, folder), reach);
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
      }
    });
  return found;
};

export const seam = async (say: (line: string) => void): Promise<Measured> => {
  const worst: Record<string, number> = {};
  for (const name of ["net", "blob"] as const)
    for (const ppi of [300, 217]) {
      say(`seams of ${name} at ${ppi} ppi`);
      for (const [renderer, n] of Object.entries(await seamsOf(name, ppi)))
        worst[renderer] = Math.max(worst[renderer] ?? 0, n);
    }
  return {
    figures: Object.entries(worst).map(([renderer, n]) => atMost(`seam, ${renderer}`, n, "pixels", 0)),
    left: Object.keys(RENDERERS)
      .filter((r) => !(r in worst))
      .map((r) => `seam, ${r}: not installed`),
  };
};
