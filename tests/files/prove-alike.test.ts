// Of a sheet that looks like one already proven but for its words only what differs is drawn: nothing may slip through for that.
import { proveSheet, References, type WrittenSheet } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import { type PreparedPiece, renderRegions } from "@kitforme/prepress";
import type { Placed, Sheet } from "@kitforme/sheet";
import { PDFDocument } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { house as bare, made, written } from "../support/proven.ts";
import { drawnPage, rect, sticker, words } from "../support/sheets.ts";

const house = {
  ...bare,
  piece: {
    ...bare.piece,
    slots: [
      {
        slot: "boat",
        kind: "text",
        box: rect(14, 34, 30, 11),
        safe: mm(1),
        fonts: [],
        size: 16,
        leastSize: 8,
        align: "left",
        colour: "#000000",
      },
    ],
  },
} as const satisfies PreparedPiece;

let drawn = 0;
const references = new References(
  (print, index, size, regions) => {
    for (const { width, height } of regions) drawn += width * height;
    return renderRegions(print, index, size, regions);
  },
  new Set([1, 2, 3]),
);

let [first, second]: Sheet[] = [];
let good: WrittenSheet;
let whole: number;
beforeAll(async () => {
  const round = sticker(await drawnPage());
  const worded = (name: string, sheet: number): Promise<Sheet> =>
    made(
      [
        { prepared: house, at: [30, 135], texts: [words(name, 15, 42, 16)] },
        { prepared: house, turn: 33, at: [120, 80] },
        { prepared: round, at: [30, 75] },
      ],
      { sheet, of: 3 },
    );
  [first, second] = [await worded("Solveig", 1), await worded("Ål", 2)];
  good = await written(second);
  const { faults } = await proveSheet(first, await written(first), "full", references);
  expect(faults).toEqual([]);
  whole = drawn;
});

const changed = (number: number, change: (placed: Placed) => Placed): Sheet => {
  if (!second) throw new Error("no sheet");
  return { ...second, placed: second.placed.map((p) => (p.number === number ? change(p) : p)) };
};
const printed = async (other: Sheet): Promise<WrittenSheet> => ({ ...good, print: (await written(other)).print });
const moved =
  (by: number) =>
  (p: Placed): Placed => {
    const [a, b, c, d, e, f] = p.matrix;
    return { ...p, matrix: [a, b, c, d, e + by, f] };
  };
const reworked = async (change: (document: PDFDocument) => void): Promise<WrittenSheet> => {
  const document = await PDFDocument.load(good.print ?? new Uint8Array(), { updateMetadata: false });
  change(document);
  return { ...good, print: await document.save({ useObjectStreams: false }) };
};

describe("a sheet that looks like one already proven but for its words", () => {
  it("is drawn for a small part, and measures what it does when it is drawn whole", async () => {
    if (!second) throw new Error("no sheet");
    drawn = 0;
    const { proof, faults } = await proveSheet(second, good, "full", references);
    expect(faults).toEqual([]);
    expect(drawn).toBeGreaterThan(0);
    // References were drawn with the first sheet too, finer than it: the page itself is 1240 x 886 pixels.
    expect(drawn).toBeLessThan(0.3 * 1240 * 886);
    expect(whole).toBeGreaterThan(1240 * 886);
    const alone = await proveSheet(second, good, "full", new References());
    expect(proof).toEqual(alone.proof);
  });

  const faults: Record<string, [check: string, files: () => Promise<WrittenSheet>]> = {
    "the print of the other sheet": ["text", () => printed(first as Sheet)],
    "the other sheet's words under its own code": [
      "text",
      () => printed(changed(1, (p) => ({ ...p, texts: first?.placed[0]?.texts ?? [] }))),
    ],
    "words dropped": ["text", () => printed(changed(1, (p) => ({ ...p, texts: [] })))],
    "both sheets' words": [
      "print",
      () => printed(changed(1, (p) => ({ ...p, texts: [...p.texts, words("Solveig", 15, 42, 16)] }))),
    ],
    "words on a piece that has none": [
      "print",
      () => printed(changed(2, (p) => ({ ...p, texts: [words("Ål", 15, 42, 16)] }))),
    ],
    "a line printed across": [
      "print",
      () =>
        reworked((document) => {
          document.getPage(0).drawLine({ start: { x: 400, y: 100 }, end: { x: 460, y: 160 }, thickness: 0.5 });
        }),
    ],
    "a placement 0.3 mm off": ["print", () => printed(changed(1, moved(300)))],
    "a placement that prints nothing": [
      "print",
      () => printed(changed(3, (p) => ({ ...p, prepared: { ...p.prepared, layers: [] } }))),
    ],
    "a ring missing": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({
            ...p,
            prepared: {
              ...house,
              layers: house.layers.map((l) => ({ ...l, clip: house.piece.parts.map((o) => o.outer) })),
            },
          })),
        ),
    ],
    "a plate missing": [
      "print",
      () =>
        printed(
          changed(1, (p) => ({
            ...p,
            prepared: {
              ...house,
              layers: house.layers.map((l) => {
                if (l.kind !== "raster") return l;
                const bytes = l.raster.data.bytes.map((v, i) => (i % 4 === 0 ? 0 : v));
                return { ...l, raster: { ...l.raster, id: "without cyan", data: { kind: "raw", bytes } } };
              }),
            },
          })),
        ),
    ],
    "a mark shifted": [
      "mark",
      () =>
        printed({
          ...(second as Sheet),
          marks: (second as Sheet).marks.map((m, i) => (i === 2 ? { ...m, at: { ...m.at, x: m.at.x + mm(0.1) } } : m)),
        }),
    ],
    "the other sheet's code": ["code", () => printed({ ...(second as Sheet), inks: (first as Sheet).inks })],
    "no slug": ["text", () => printed({ ...(second as Sheet), inks: (second as Sheet).inks.slice(0, 1) })],
    "the other sheet's cut files": ["cut", async () => ({ ...good, cuts: (await written(first as Sheet)).cuts })],
  };
  it.each(Object.entries(faults))("is not passed with %s", async (_, [check, files]) => {
    const { faults: found } = await proveSheet(second as Sheet, await files(), "full", references);
    expect(found.map((fault) => fault.check)).toContain(check);
  });
});
