// The second page: every point of a back behind its point of the front, at every turn of the piece and either turn of the sheet.
import { writePrint } from "@kitforme/files";
import { apply, mm, multiply } from "@kitforme/geometry";
import { type BackFace, outputProfile, type PreparedPiece, renderPage } from "@kitforme/prepress";
import { type Sheet, turnOver } from "@kitforme/sheet";
import { PDFDocument } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { has, poppler, sampleAt } from "../support/oracle.ts";
import { drawn, painted, piece, placed, press, rect, sheetOf, stock, words } from "../support/sheets.ts";

const options = { title: "Harbour", profile: outputProfile(press()) };

/** A card of 40 x 30 mm: the front grey with its upper left corner black, the back with its upper left 10 x 10 mm red. */
const card = (mirror?: number): PreparedPiece => {
  const parts = [{ outer: drawn([0, 30], [40, 30], [40, 0], [0, 0]), openings: [] }];
  const front = painted("front", "grey", [40, 30], (x, y) => [x < 10 && y < 10 ? 0 : 180]);
  const behind = painted("behind", "cmyk", [40, 30], (x, y) => (x < 10 && y < 10 ? [0, 255, 255, 0] : [0, 0, 60, 0]));
  const layer = (raster: typeof front) => ({ kind: "raster", raster, box: rect(0, 0, 40, 30), clip: null }) as const;
  const back: BackFace = { layers: [layer(behind)], bleed: null, ...(mirror === undefined ? {} : { mirror }) };
  return {
    piece: piece("card", [40, 30], parts, [], { back: { artwork: null } }),
    reach: parts,
    layers: [layer(front)],
    bleed: null,
    back,
  };
};

const sheet = (prepared: PreparedPiece, degrees: number, turn: "long" | "short", height = 100): Sheet => {
  const size = { width: mm(80), height: mm(height) };
  const [e, f] = { 0: [20, 60], 90: [20, 20], 180: [60, 30], 270: [60, 60] }[degrees] as [number, number];
  const text = { ...words("L", 20, 20, 30), side: "back" as const };
  return sheetOf([placed(1, prepared, degrees, [e, f], [], [text])], {
    ...size,
    stock: stock({ ...press(), turn }),
    marks: [],
    inks: [],
    back: { matrix: turnOver({ turn }, size), slug: "", inks: [] },
  });
};

const SCALE = 4;
const seen = async (one: Sheet, page: number) => {
  const [width, height] = [one.width, one.height].map((um) => (um / 1000) * SCALE) as [number, number];
  const { data } = await renderPage(await writePrint(one, options), page, { width, height });
  const [place] = one.placed;
  const matrix = page === 0 ? place?.matrix : one.back && place && multiply(one.back.matrix, place.matrix);
  if (!matrix) throw new Error("no place");
  /** The colour at a point of the drawing, millimetres. */
  return (x: number, y: number): number[] => {
    const [px, py] = apply(matrix, mm(x), mm(y)).map((um) => (um / 1000) * SCALE) as [number, number];
    const at = (Math.round(height - py) * width + Math.round(px)) * 4;
    return [...data.subarray(at, at + 3)];
  };
};
const isRed = ([r = 0, g = 0, b = 0]: readonly number[]): boolean => r > 150 && g < 110 && b < 110;

describe("the back's page", () => {
  it.each(
    ([0, 90, 180, 270] as const).flatMap((degrees) =>
      (["long", "short"] as const).map((turn) => [degrees, turn] as const),
    ),
  )(
    "prints each point behind that of the front: piece at %d degrees, turned over the %s edge",
    async (degrees, turn) => {
      for (const height of [100, 70]) {
        const one = sheet(card(), degrees, turn, height);
        const [front, back] = [await seen(one, 0), await seen(one, 1)];
        expect(front(5, 5)).toEqual([0, 0, 0]);
        expect(isRed(back(5, 5))).toBe(true);
        for (const [x, y] of [
          [35, 5],
          [5, 25],
          [35, 25],
        ] as const)
          expect(isRed(back(x, y))).toBe(false);
      }
    },
  );

  it("turns artwork over that is drawn as its reader sees it", async () => {
    const back = await seen(sheet(card(mm(40)), 90, "long"), 1);
    expect(isRed(back(35, 5))).toBe(true);
    expect(isRed(back(5, 5))).toBe(false);
  });

  it.each([90, 180, 270])("turns words with their piece: at %d degrees as upright", async (degrees) => {
    const front = words("Fj", 12, 24, 40);
    const at = async (turn: number) => {
      const one = sheet(card(), turn, "long");
      return seen({ ...one, placed: one.placed.map((p) => ({ ...p, texts: [front] })) }, 0);
    };
    const [upright, turned] = [await at(0), await at(degrees)];
    let [inked, same, both] = [0, 0, 0];
    for (let x = 11; x < 35; x += 0.25)
      for (let y = 11; y < 29; y += 0.25) {
        const [dark, there] = [upright, turned].map((look) => (look(x, y)[0] ?? 255) < 90) as [boolean, boolean];
        if (dark) inked++;
        if (there) both++;
        if (dark && there) same++;
      }
    expect(inked).toBeGreaterThan(300);
    // All but pixels of the edges.
    expect(same / Math.max(inked, both)).toBeGreaterThan(0.7);
  });

  it("has the words of the back alone, and the front those of the front", async () => {
    const one = sheet(card(), 0, "long");
    const [front, back] = [await seen(one, 0), await seen(one, 1)];
    // The stem of the L stands some 1.5 mm right of where the text begins.
    const stem = [20.6, 21, 21.4, 21.8].map((x) => [front(x, 17), back(x, 17)] as const);
    expect(stem.every(([[r = 0]]) => r > 120)).toBe(true);
    expect(stem.some(([, [r = 255]]) => r < 60)).toBe(true);
  });

  it.runIf(has("pdftoppm"))("is the second of two, and none without a back (oracle: poppler)", async () => {
    const one = sheet(card(), 0, "long");
    const bytes = await writePrint(one, options);
    // The front's square spans 20..30 mm from the left, the back's lies 50..60 mm, both 50..60 mm from below.
    expect(isRed(sampleAt(poppler(bytes, 72, 2), 72, 55, 55))).toBe(true);
    expect(isRed(sampleAt(poppler(bytes, 72, 2), 72, 25, 55))).toBe(false);
    const { back: _back, ...plain } = one;
    expect((await PDFDocument.load(await writePrint(plain, options))).getPageCount()).toBe(1);
    expect((await PDFDocument.load(bytes)).getPageCount()).toBe(2);
  });
});
