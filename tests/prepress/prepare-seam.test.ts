// A disc of one colour, made press-ready from every kind of artwork and printed to a sheet: no renderer may show where the
// artwork ends and its bleed begins, nor any of the page that was around the artwork.
import { writePrint } from "@kitforme/files";
import type { Artwork } from "@kitforme/kit";
import { outputProfile, prepare, renderPage } from "@kitforme/prepress";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { has, type Pixels, plates, poppler } from "../support/oracle.ts";
import { placed, round, sheetOf } from "../support/sheets.ts";
import { drawing, file, page, piece, press, PT } from "./artwork-samples.ts";

const disc = (page = ""): string => `${page}<circle cx="10" cy="10" r="8.03" fill="#1b6fa8"/>`;
const svg = (page: string): Buffer =>
  Buffer.from(
    `<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200" viewBox="0 0 20 20">${disc(page)}</svg>`,
  );
const white = '<path d="M-9-9h40v40h-40z" fill="#fff"/>';

const pageOfDisc = (): Promise<Uint8Array> => {
  const [r, k, c] = [PT(8.03), PT(8.03 * 0.5522848), PT(10)];
  const at = (x: number, y: number): string => `${c + x} ${c + y}`;
  const curves = [
    [at(r, k), at(k, r), at(0, r)],
    [at(-k, r), at(-r, k), at(-r, 0)],
    [at(-r, -k), at(-k, -r), at(0, -r)],
    [at(k, -r), at(r, -k), at(r, 0)],
  ];
  return page(`.8 .4 0 .2 k ${at(r, 0)} m ${curves.map((three) => `${three.join(" ")} c`).join(" ")} f`);
};

const artworks: Readonly<Record<string, () => Promise<Artwork>>> = {
  "a drawing": () => Promise.resolve(drawing(disc())),
  "a drawing on a white page": () => Promise.resolve(drawing(disc(white))),
  "a PNG with alpha": async () => file("png", await sharp(svg("")).png().toBuffer()),
  "a PNG on a white page": async () => file("png", await sharp(svg(white)).png().toBuffer()),
  "a PDF page": async () => file("pdf", await pageOfDisc()),
};

/** Place of the piece's drawing on the sheet: its upper left corner, millimetres from the sheet's lower left. */
const [left, top] = [40, 100];
const PPI = 254;

/** Levels that are the same colour: straight alpha in 8 bits is that coarse where little is covered. */
const STRAY = 3;
/** The same as light: two levels of each of four plates add up. Measured: inks are off by at most 2, light by 6. */
const STRAY_LIGHT = 8;

/** Pixels of the reach, less its outermost half millimetre, that are not of the colour in the middle. */
const strangers = ({ width, height, channels, data }: Pixels, stray = STRAY): number => {
  const [cx, cy] = [(left + 10) * 10, height - (top - 10) * 10];
  const colour = (x: number, y: number): number[] => {
    const at = (y * width + x) * channels;
    return [...data.subarray(at, at + channels)];
  };
  const middle = colour(Math.round(cx), Math.round(cy));
  expect(middle.every((value) => value === 255)).toBe(false);
  let found = 0;
  let seen = 0;
  for (let y = Math.floor(cy - 96); y < cy + 96; y++)
    for (let x = Math.floor(cx - 96); x < cx + 96; x++) {
      if (Math.hypot(x + 0.5 - cx, y + 0.5 - cy) > 95) continue;
      seen++;
      if (colour(x, y).some((value, at) => Math.abs(value - (middle[at] as number)) > stray)) found++;
    }
  expect(seen).toBeGreaterThan(28_000);
  return found;
};

describe.each(Object.entries(artworks))("%s", (_, artwork) => {
  let pdf: Uint8Array;
  beforeAll(async () => {
    const parts = [{ outer: round(10, 10, 8.03), openings: [] }];
    const { value, findings } = await prepare(piece(await artwork(), { parts }), press());
    if (!value) throw new Error(JSON.stringify(findings));
    pdf = await writePrint(sheetOf([placed(1, value, 0, [left, top], [])]), {
      title: "Seam",
      profile: outputProfile(press()),
    });
  });

  it("has no seam in PDFium", async () => {
    const drawn = await renderPage(pdf, 0, { width: 3200, height: 4500 });
    expect(strangers({ ...drawn, channels: 4 }, STRAY_LIGHT)).toBe(0);
  });

  it.runIf(has("pdftoppm"))("has no seam in poppler", () => {
    expect(strangers(poppler(pdf, PPI))).toBe(0);
  });

  it.runIf(has("gs"))("has no seam on Ghostscript's cyan plate", () => {
    expect(strangers(plates(pdf, PPI)["Cyan"] as Pixels)).toBe(0);
  });
});
