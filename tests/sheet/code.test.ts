import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { bounds, mm } from "@kitforme/geometry";
import { fieldOf, impose, type Sheet } from "@kitforme/sheet";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { formeOf, PRESS, SRA3, stockOf } from "./make.ts";

const SCAN = 150;

beforeAll(async () => {
  const wasm = createRequire(import.meta.url).resolve("zxing-wasm/reader/zxing_reader.wasm");
  const wasmBinary = new Uint8Array(readFileSync(wasm)).buffer;
  // Without the binary the reader fetches it over the network.
  await prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });
});

const sheetOf = (job: string, resolution = 300, sheet = 1): Promise<Sheet> =>
  impose(formeOf([], { sheet, of: Math.max(sheet, 12) }), job, stockOf({ press: { ...PRESS, resolution } }), [
    "HL-2041",
  ]);

/** The lower left corner of a sheet as a camera sees it, grey, rows from the top. */
const scan = async (sheet: Sheet, ppi: number, wide = mm(120), high = mm(30)) => {
  const pixels = (um: number): number => Math.round((um / 25_400) * ppi);
  const inks = sheet.inks.map(({ outlines }) => `<path d="${outlines}"/>`).join("");
  const marks = sheet.marks.map(({ at, size }) => `<circle cx="${at.x}" cy="${at.y}" r="${size / 2}"/>`).join("");
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${pixels(wide)}" height="${pixels(high)}" viewBox="0 0 ${wide} ${high}" preserveAspectRatio="none"><rect width="100%" height="100%" fill="#fff"/><g transform="matrix(1 0 0 -1 0 ${high})">${inks}${marks}</g></svg>`;
  const { data, info } = await sharp(Buffer.from(svg)).greyscale().raw().toBuffer({ resolveWithObject: true });
  return { data, width: info.width, height: info.height, pixels };
};

const read = async ({ data, width, height }: Awaited<ReturnType<typeof scan>>): Promise<string[]> => {
  const rgba = new Uint8ClampedArray(width * height * 4);
  for (let i = 0; i < width * height; i++) rgba.set([data[i] ?? 0, data[i] ?? 0, data[i] ?? 0, 255], 4 * i);
  const image = { data: rgba, width, height, colorSpace: "srgb" as const };
  return (
    await readBarcodes(image as Parameters<typeof readBarcodes>[0], { formats: ["DataMatrix"], tryHarder: true })
  ).map((r) => r.text);
};

/** The code with its quiet zone: the keep-out that is no square and not as wide as the slug. */
const codeZone = (sheet: Sheet) => {
  const zones = fieldOf(sheet.stock, SRA3).keepOuts.map((ring) => bounds(ring));
  const zone = zones.find(({ width, height }) => width > 2 * height && width < mm(30));
  if (!zone) throw new Error("the field keeps no room for a code");
  return zone;
};

describe("the sheet's code", () => {
  it.each([
    ["7ZK3M0QXW2AB", 1],
    ["000000000000", 999],
    ["ZZZZZZZZZZZZ", 1000],
  ])("of job %s, sheet %i, is read at 150 ppi by an independent reader", async (job, number) => {
    const sheet = await sheetOf(job, 300, number);
    expect(sheet.code).toBe(`${job}-${String(number).padStart(3, "0")}`);
    expect(await read(await scan(sheet, SCAN))).toEqual([sheet.code]);
  });

  it.each([150, 300, 600, 1200])("is read from a press of %i dpi", async (resolution) => {
    const sheet = await sheetOf("7ZK3M0QXW2AB", resolution);
    expect(await read(await scan(sheet, SCAN))).toEqual([sheet.code]);
  });

  it("is not read when a third of it is covered: the reader really reads it", async () => {
    const sheet = await sheetOf("7ZK3M0QXW2AB");
    const seen = await scan(sheet, SCAN);
    const zone = codeZone(sheet);
    const [from, to] = [seen.pixels(zone.x), seen.pixels(zone.x + zone.width / 3)];
    for (let y = 0; y < seen.height; y++) seen.data.fill(0, y * seen.width + from, y * seen.width + to);
    expect(await read(seen)).toEqual([]);
  });

  // ISO/IEC 16022: one module of quiet zone on every side; we keep two.
  it("has a quiet zone of bare paper, two modules wide", async () => {
    const sheet = await sheetOf("7ZK3M0QXW2AB");
    const ppi = 600;
    const seen = await scan(sheet, ppi);
    const zone = codeZone(sheet);
    const module = (25.4 / 300) * 5 * 1000;
    let dark = 0;
    let frame = 0;
    for (let y = 0; y < seen.height; y++)
      for (let x = 0; x < seen.width; x++) {
        // Middle of the pixel on the sheet.
        const [px, py] = [((x + 0.5) / ppi) * 25_400, ((seen.height - y - 0.5) / ppi) * 25_400];
        const edge = Math.min(px - zone.x, zone.x + zone.width - px, py - zone.y, zone.y + zone.height - py);
        if (edge < 0) continue;
        const ink = (seen.data[y * seen.width + x] ?? 255) < 128;
        if (edge < 2 * module - 43) {
          frame++;
          if (ink) dark++;
        }
      }
    expect(frame).toBeGreaterThan(1000);
    expect(dark).toBe(0);
  });

  it.each([
    [150, 3],
    [300, 5],
    [600, 10],
    [1200, 19],
  ])("has modules of whole device dots at %i dpi, 0.4 mm or more: %i dots", async (resolution, dots) => {
    const sheet = await sheetOf("7ZK3M0QXW2AB", resolution);
    const dot = 25_400 / resolution;
    const numbers = (sheet.inks[0]?.outlines.match(/-?[\d.]+/g) ?? []).map(Number);
    const xs = numbers.filter((_, i) => i % 2 === 0);
    const columns = xs.map((x) => (x - Math.min(...xs)) / dot / dots);
    // Outlines are written to a tenth of a micrometre.
    for (const column of columns) expect(Math.abs(column - Math.round(column))).toBeLessThan(0.001);
    expect(Math.max(...columns)).toBeCloseTo(36, 2);
    expect(dots * dot).toBeGreaterThanOrEqual(400);
    expect((dots - 1) * dot).toBeLessThan(400);
  });

  it("stands at the same place whatever it says", async () => {
    const box = async (job: string, number: number) => {
      const numbers = ((await sheetOf(job, 300, number)).inks[0]?.outlines.match(/-?[\d.]+/g) ?? []).map(Number);
      return [Math.min(...numbers), Math.max(...numbers)];
    };
    expect(await box("ZZZZZZZZZZZZ", 1234)).toEqual(await box("1", 1));
  });

  it("never takes what its reader could not give back", async () => {
    await expect(sheetOf("jøb")).rejects.toThrow("printable ASCII");
    await expect(sheetOf("a job name that is far too long for it")).rejects.toThrow();
  });
});
