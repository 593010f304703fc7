import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { writeSlips } from "@kitforme/papers";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { harbourJob } from "../support/jobs.ts";
import { oracle } from "../support/promised.ts";

const root = mkdtempSync(join(tmpdir(), "kitforme-slips-"));
const pdf = join(root, "slips.pdf");
const pageText = (page: number): string =>
  execFileSync("pdftotext", ["-layout", "-f", String(page), "-l", String(page), pdf, "-"], { encoding: "utf8" });
const TO = ["Solveig Ånesen", "Havnegata 3", "7010 Trondheim"];

let bytes: Uint8Array;
beforeAll(async () => {
  const job = await harbourJob();
  // The later order first: slips follow the day they are due.
  const orders = [...job.orders].reverse().map((o) => (o.order === "HL-2041" ? { ...o, to: TO } : o));
  bytes = (await writeSlips({ ...job, orders })) as Uint8Array;
  writeFileSync(pdf, bytes);
});
afterAll(() => rmSync(root, { recursive: true, force: true }));

describe.runIf(oracle("pdftotext"))("packing slips, read back by poppler", () => {
  it("are one an order, the earliest due first, with the address and the words", () => {
    const [first, second] = [pageText(1), pageText(2)];
    expect(first).toContain("Order HL-2041");
    expect(first).toContain("Due 2026-12-04");
    for (const line of TO) expect(first).toContain(line);
    expect(first).toMatch(/boat: Solveig/);
    expect(first).toMatch(/boat: Ålesund/);
    expect(second).toContain("Order HL-2042");
    expect(second).not.toContain("Havnegata");
  });

  it("say of every piece how many and from which place of which sheet, as the job has it", async () => {
    const job = await harbourJob();
    const all = [pageText(1), pageText(2)];
    for (const [i, order] of ["HL-2041", "HL-2042"].entries()) {
      const counted = new Map<string, number>();
      // "from 1:1 (3), 1:2" in a block "Kits 1–3, each:" counts three times over.
      let times = 1;
      for (const line of (all[i] as string).split("\n")) {
        const kits = /Kits? (\d+)(?:–(\d+))?/.exec(line);
        if (kits) times = kits[2] ? Number(kits[2]) - Number(kits[1]) + 1 : 1;
        for (const [, at = "", count] of line.replace(/^.*?from/, "").matchAll(/(\d+:\d+)(?: \((\d+)\))?/g))
          if (line.includes("from")) counted.set(at, (counted.get(at) ?? 0) + times * Number(count ?? 1));
      }
      const wanted = new Map<string, number>();
      for (const { sheet } of job.sheets)
        for (const { number, serves } of sheet.placed)
          for (const serve of serves)
            if (serve.order === order) {
              const at = `${sheet.sheet}:${number}`;
              wanted.set(at, (wanted.get(at) ?? 0) + serve.last - serve.first + 1);
            }
      expect(counted).toEqual(wanted);
    }
  });

  it("carry a code of the order that a scanner reads from a print at 200 dots to the inch (reader: zxing)", async () => {
    prepareZXingModule({
      overrides: {
        wasmBinary: readFileSync(new URL(import.meta.resolve("zxing-wasm/reader/zxing_reader.wasm"))) as never,
      },
    });
    for (const [page, order] of [
      [1, "HL-2041"],
      [2, "HL-2042"],
    ] as const) {
      const png = execFileSync(
        "pdftoppm",
        ["-r", "200", "-gray", "-png", "-f", String(page), "-l", String(page), pdf],
        { maxBuffer: 1 << 26 },
      );
      const codes = await readBarcodes(new Uint8Array(png), { formats: ["DataMatrix"], tryHarder: true });
      expect(codes.map((c) => c.text)).toEqual([order]);
    }
  });

  it("are grey only, and within what Letter paper shows of an A4 page laid to the middle or to the top", async () => {
    const png = execFileSync("pdftoppm", ["-r", "72", "-png", "-f", "1", "-l", "1", pdf], { maxBuffer: 1 << 26 });
    const { data, info } = await sharp(png).removeAlpha().raw().toBuffer({ resolveWithObject: true });
    let [top, bottom, left, right, colour] = [Infinity, 0, Infinity, 0, 0];
    for (let y = 0; y < info.height; y++)
      for (let x = 0; x < info.width; x++) {
        const at = 3 * (y * info.width + x);
        const [r = 0, g = 0, b = 0] = data.subarray(at, at + 3);
        colour = Math.max(colour, Math.max(r, g, b) - Math.min(r, g, b));
        if (r > 250) continue;
        [top, bottom, left, right] = [Math.min(top, y), Math.max(bottom, y), Math.min(left, x), Math.max(right, x)];
      }
    expect(colour).toBeLessThanOrEqual(2);
    const mm = (px: number): number => (px * 25.4) / 72;
    // Letter is 215.9 x 279.4 mm, A4 210 x 297: laid to the middle 8.8 mm are lost above and below, to the top 17.6 below.
    expect(mm(top)).toBeGreaterThan(8.8 + 4);
    expect(mm(bottom)).toBeLessThan(297 - 17.6 - 4);
    expect(mm(left)).toBeGreaterThan(5);
    expect(mm(right)).toBeLessThan(205);
  });

  it("are the same bytes twice", async () => {
    const job = await harbourJob();
    const orders = [...job.orders].reverse().map((o) => (o.order === "HL-2041" ? { ...o, to: TO } : o));
    expect(Buffer.from((await writeSlips({ ...job, orders })) ?? []).equals(bytes)).toBe(true);
  });
});

describe.runIf(oracle("pdftotext"))("packing slips of long names and many places, read back by poppler", () => {
  it("keep every letter on the paper and off the code, and name every place", async () => {
    const name = "L".repeat(60);
    const job = await harbourJob();
    const [first] = job.sheets;
    const [one] = first?.sheet.placed ?? [];
    if (!first || !one) throw new Error("a job without a piece");
    const piece = { ...one.prepared.piece, perKit: 60, piece: "W".repeat(60) };
    const placed = Array.from({ length: 60 }, (_, i) => ({
      ...one,
      prepared: { ...one.prepared, piece },
      texts: [],
      wording: {},
      number: i + 1,
      serves: [{ order: name, first: i + 1, last: i + 1 }],
    }));
    const long = {
      ...job,
      sheets: [{ ...first, sheet: { ...first.sheet, placed } }],
      orders: [{ order: name, lines: [{ kit: piece.kit, quantity: 1 }] }],
      titles: { [piece.kit]: "K".repeat(200) },
    };
    const file = join(root, "long.pdf");
    writeFileSync(file, (await writeSlips(long)) as Uint8Array);
    const boxes = execFileSync("pdftotext", ["-bbox", file, "-"], { encoding: "utf8" });
    const words = [...boxes.matchAll(/<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="[\d.]+">([^<]*)</g)];
    const text = words.map(([, , , , word]) => word).join("");
    expect(text).toContain(name);
    expect(text).toContain("K".repeat(200));
    expect(text).toContain(piece.piece);
    for (const { number } of placed) expect(text).toMatch(new RegExp(`1:${number}(?!\\d)`));
    const mm = (points: string | undefined): number => (Number(points) * 25.4) / 72;
    for (const [, , , right] of words) expect(mm(right)).toBeLessThan(210 - 12);
    // The code stands right of the order's name, 14 mm from the top: no letter reaches under it.
    for (const [, , top, right] of words) if (mm(top) < 24) expect(mm(right)).toBeLessThan(185);
  });
});
