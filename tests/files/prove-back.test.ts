// The back of a sheet, proven as the front is; faults are printed and held against the sheet as it is to be.
import { proveSheet, References, sayFaults, type WrittenSheet } from "@kitforme/files";
import type { Placed, Sheet } from "@kitforme/sheet";
import { PDFDocument } from "pdf-lib";
import { beforeAll, describe, expect, it } from "vitest";
import { backed, house, made, pictured, written } from "../support/proven.ts";
import { words } from "../support/sheets.ts";

const references = new References();
const waves = pictured("waves", 150, (x, y) => [40, 60 + 60 * Math.sin(x / 3), 60 + 60 * Math.cos(y / 4), 10]);
const both = backed(house, waves);
const name = { ...words("Solveig", 15, 42, 16), side: "back" as const };

let sheet: Sheet;
let good: { print: Uint8Array; cuts: Record<string, Uint8Array> };
beforeAll(async () => {
  sheet = await made([
    { prepared: both, at: [30, 135], texts: [name] },
    { prepared: both, turn: 33, at: [120, 80] },
  ]);
  good = await written(sheet);
});

const printed = async (other: Sheet): Promise<WrittenSheet> => ({ ...good, print: (await written(other)).print });
const changed = (number: number, change: (placed: Placed) => Placed): Sheet => ({
  ...sheet,
  placed: sheet.placed.map((p) => (p.number === number ? change(p) : p)),
});
const ofBack = (change: (back: NonNullable<Sheet["back"]>) => NonNullable<Sheet["back"]>): Sheet => ({
  ...sheet,
  ...(sheet.back ? { back: change(sheet.back) } : {}),
});
const reworked = async (change: (document: PDFDocument) => void | Promise<void>): Promise<WrittenSheet> => {
  const document = await PDFDocument.load(good.print, { updateMetadata: false });
  await change(document);
  return { ...good, print: await document.save({ useObjectStreams: false }) };
};
/** A lying sheet is turned over its lower edge: 150 mm less a place of the front. */
const FIRST = [26, 150 - 140, 94, 150 - 79] as const;

describe("the proof of a sheet's back", () => {
  it("passes a good one", async () => {
    for (const level of ["marks", "full"] as const) {
      const { proof, faults } = await proveSheet(sheet, good, level, references);
      expect(faults).toEqual([]);
      if (level === "full") expect(proof.worst.print).toBeLessThan(90);
    }
  });

  const faults: Record<
    string,
    [check: string, level: "marks" | "full", files: () => Promise<WrittenSheet>, place?: typeof FIRST]
  > = {
    "no second page": ["page", "marks", () => reworked((document) => document.removePage(1))],
    "the frames 0.3 mm off": [
      "text",
      "marks",
      () =>
        printed(
          ofBack((b) => ({
            ...b,
            matrix: b.matrix,
            inks: b.inks.map((ink, i) => (i < 2 ? ink : { ...ink, outlines: across(ink.outlines, 300) })),
          })),
        ),
    ],
    "a frame missing": ["text", "marks", () => printed(ofBack((b) => ({ ...b, inks: b.inks.slice(0, -1) })))],
    "the back 0.3 mm off": [
      "print",
      "full",
      () =>
        printed(
          ofBack((b) => ({ ...b, matrix: [b.matrix[0], 0, 0, b.matrix[3], b.matrix[4] + 300, b.matrix[5]] as const })),
        ),
    ],
    "the front on the back": [
      "print",
      "full",
      () => printed(changed(1, (p) => ({ ...p, prepared: backed(house, house) }))),
      FIRST,
    ],
    "the artwork of the back missing": [
      "print",
      "full",
      () => printed(changed(1, (p) => ({ ...p, prepared: { ...both, back: { layers: [], bleed: null } } }))),
      FIRST,
    ],
    "a text of the back dropped": ["text", "full", () => printed(changed(1, (p) => ({ ...p, texts: [] })))],
    "the pages in each other's places": [
      "mark",
      "marks",
      () =>
        reworked(async (document) => {
          const [copy] = await document.copyPages(document, [0]);
          document.removePage(0);
          if (copy) document.addPage(copy);
        }),
    ],
  };
  it.each(Object.entries(faults))("catches %s", async (_, [check, level, files, place]) => {
    const found = (await proveSheet(sheet, await files(), level, references)).faults.filter((f) => f.check === check);
    expect(found.length).toBeGreaterThan(0);
    const inside = found.filter(({ at }) => {
      const [left, bottom, right, top] = (place ?? [0, 0, 210, 150]).map((mm) => mm * 1000) as [
        number,
        number,
        number,
        number,
      ];
      return at && at.x >= left && at.x <= right && at.y >= bottom && at.y <= top;
    });
    if (check !== "page") expect(inside, sayFaults("sheet-001", found)).not.toHaveLength(0);
  });
});

/** Every first number of a pair is an x. */
const across = (outlines: string, by: number): string => {
  let n = 0;
  return outlines.replace(/-?\d+\.?\d*/g, (u) => String(Number(u) + (n++ % 2 === 0 ? by : 0)));
};
