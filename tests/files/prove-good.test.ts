// Good sheets of every kind of picture must pass: an alarm on one stops a job for nothing.
import { proveSheet, References } from "@kitforme/files";
import { apply, inset, matrixOf, mm } from "@kitforme/geometry";
import type { PreparedPiece } from "@kitforme/prepress";
import { cmyk, PDFDocument } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { backed, house, made, pictured, written } from "../support/proven.ts";
import { cut, rectangle } from "../sheet/make.ts";
import { drawnPage, sticker, wall, words } from "../support/sheets.ts";

/** KITFORME_PROOF=long: 200, or a stretch of these as 50-100. */
const [FIRST, LAST] = ((asked = "0-6"): [number, number] => {
  const stretch = /^(\d+)-(\d+)$/.exec(asked === "long" ? "0-200" : asked);
  if (!stretch) throw new Error(`KITFORME_PROOF is ${asked}: neither long nor a stretch as 50-100`);
  return [Number(stretch[1]), Number(stretch[2])];
})(process.env["KITFORME_PROOF"]);

const grain = (x: number, y: number, n: number): number => {
  const value = Math.sin(x * 127.1 + y * 311.7 + n * 74.7) * 43_758.5453;
  return (value - Math.floor(value)) * 255;
};

const pictures: Record<string, () => PreparedPiece> = {
  squares: () => house,
  "25 pixels an inch": () => wall(),
  "25 pixels an inch, busy": () =>
    pictured("coarse", 25, (x, y) => [
      128 + 100 * Math.sin(x * 1.3 + y * y * 0.05),
      128 + 100 * Math.sin(y + x),
      30,
      0,
    ]),
  "a soft gradient": () => pictured("soft", 40, (x, y) => [60 + x * 2, 40 + y * 2, 30, 0]),
  "a gradient to nothing": () => pictured("fading", 100, (x) => [Math.max(0, 120 - 2 * x), 0, 0, 0]),
  "next to nothing": () => pictured("spot", 100, (x, y) => [0, Math.hypot(x - 33, y - 15) < 2 ? 200 : 0, 0, 0]),
  nothing: () => pictured("bare", 20, () => [0, 0, 0, 0]),
  "a pale tint": () => pictured("pale", 20, () => [0, 0, 9, 0]),
  grain: () => pictured("grain", 300, (x, y) => [0, 1, 2, 3].map((n) => grain(x, y, n) / (n === 3 ? 4 : 1))),
  "fine stripes": () => pictured("stripes", 300, (x) => [0, 0, 0, Math.floor(x / 0.35) % 2 === 0 ? 255 : 0]),
  "lines on white": () => pictured("ruled", 200, (x, y) => [0, 0, 0, x % 7 < 0.3 || y % 9 < 0.3 ? 220 : 0]),
};
const PICTURES = Object.values(pictures);

describe("good random sheets", () => {
  it(`raise no alarm: ${FIRST} to ${LAST - 1}`, { timeout: 2_000_000 }, async () => {
    const page = await drawnPage();
    const references = new References();
    const known = new Map<() => PreparedPiece, PreparedPiece>();
    let unmeasured = 0;
    for (let i = FIRST; i < LAST; i++) {
      let state = 48_271 * (i + 7);
      const next = (): number => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647;
      const any = <T>(all: readonly T[]): T => all[Math.floor(next() * all.length)] as T;
      next();
      const turned = next() < 0.3;
      const pieces = [68, 165].map((x) => {
        const make = any(PICTURES);
        const front = known.get(make) ?? make();
        known.set(make, front);
        // References are kept by name: each picture is a piece of its own.
        const name = `wall-${PICTURES.indexOf(make)}`;
        const drawn = next() < 0.8;
        const plain = drawn ? { ...front, piece: { ...front.piece, piece: name } } : sticker(page);
        const prepared = drawn && turned ? backed(plain, any([house, wall(), front])) : plain;
        const turn = any([0, 90, 180, 270, next() * 360]);
        // Turned about its middle, so that it stays clear of the other and of the marks.
        const middle = drawn ? ([mm(30), mm(25)] as const) : ([mm(20), mm(20)] as const);
        const [u, v] = apply(matrixOf({ degrees: turn, e: 0, f: 0 }), ...middle);
        const texts =
          drawn && next() < 0.5 ? [words(any(["Solveig", "Ål", "Wm"]), 13 + next() * 5, 42, 8 + next() * 8)] : [];
        return { prepared, turn, at: [x + next() - u / 1000, 78 + next() - v / 1000] as const, texts };
      });
      const random = await made(pieces, { width: mm(240), sheet: 1 + (i % 3), of: 3 });
      const { faults, proof } = await proveSheet(
        random,
        await written(random),
        "full",
        i % 2 ? references : new References(),
      );
      const what = JSON.stringify({
        i,
        pieces: pieces.map(({ prepared, turn, at }) => [prepared.piece.piece, turn, ...at]),
      });
      expect(faults, what).toEqual([]);
      expect(proof.worst.print, what).toBeLessThanOrEqual(180);
      unmeasured += proof.unmeasured ?? 0;
      if (LAST - FIRST > 20) console.log(i, JSON.stringify(proof), what.slice(0, 150));
    }
    // What is bare or pale cannot be measured, and most can.
    expect(unmeasured).toBeLessThan(LAST - FIRST);
  });
});

describe("a seam one pixel wide", () => {
  it("where two shapes meet over a dark one is no fault", async () => {
    const document = await PDFDocument.create({ updateMetadata: false });
    const sheetOfPaper = document.addPage([100, 100]);
    sheetOfPaper.drawRectangle({ x: 0, y: 0, width: 100, height: 100, color: cmyk(0, 0, 0, 1) });
    sheetOfPaper.drawRectangle({ x: 0, y: 0, width: 100, height: 50.13, color: cmyk(0.1, 0.2, 0, 0) });
    sheetOfPaper.drawRectangle({ x: 0, y: 50.13, width: 100, height: 49.87, color: cmyk(0.1, 0.2, 0, 0) });
    const page = { id: "seam", bytes: await document.save({ useObjectStreams: false }), index: 0 };
    const pieces = [0, 0.05, 0.1].map((off, i) => ({ prepared: sticker(page), at: [25 + i * 55, 80 + off] as const }));
    const sheet = await made(pieces, { width: mm(210) });
    expect((await proveSheet(sheet, await written(sheet), "full", new References())).faults).toEqual([]);
  });
});

// PDFium moves the edges of a plain rectangle to whole pixels (CFX_RenderDevice::DrawPathWithBlend, from memory; seen in pixels).
describe("rectangles that PDFium draws to whole pixels", () => {
  it("are square marks where they are, wherever a pixel begins", { timeout: 60_000 }, async () => {
    const round = await made([{ prepared: house, at: [60, 110] }]);
    for (const by of [0, 31, 57, 85]) {
      const at = ({ x, y }: { x: number; y: number }) => ({ x: x + by, y: y + 2 * by });
      const marks = round.marks.map((m) => ({ ...m, shape: "square" as const, at: at(m.at) }));
      const sheet = { ...round, marks };
      const { faults, proof } = await proveSheet(sheet, await written(sheet), "marks", new References());
      expect(faults).toEqual([]);
      expect(proof.worst.mark).toBeLessThan(20);
    }
  });

  it("are blocks of colour, of cards that lie bleed to bleed", { timeout: 60_000 }, async () => {
    const document = await PDFDocument.create({ updateMetadata: false });
    const paper = document.addPage([100, 100]);
    const [xs, ys] = [
      [0, 9, 14, 17, 20, 71, 100],
      [0, 4, 11, 62, 100],
    ];
    const inks = [cmyk(0, 0.6, 0.9, 0), cmyk(0.6, 0, 0.2, 0), cmyk(0.9, 0.9, 0.2, 0.3), cmyk(0.1, 0.1, 0.8, 0)];
    for (const [i, x] of xs.slice(0, -1).entries())
      for (const [j, y] of ys.slice(0, -1).entries()) {
        const [width, height] = [(xs[i + 1] as number) - x, (ys[j + 1] as number) - y];
        paper.drawRectangle({ x, y, width, height, color: inks[(3 * i + j * j) % 4] ?? cmyk(0, 0, 0, 1) });
      }
    const page = { id: "blocks", bytes: await document.save({ useObjectStreams: false }), index: 0 };
    const round = sticker(page);
    const outer = rectangle(0, 0, 19.3, 14.7);
    const reach = rectangle(-0.5, -0.5, 20.3, 15.7);
    // One corner is cut off, so that the clip is none that PDFium moves.
    const clip = [...reach.slice(0, 3), { x: mm(-0.4), y: mm(15.2) }, { x: mm(-0.5), y: mm(15.1) }];
    const card: PreparedPiece = {
      ...round,
      piece: { ...round.piece, parts: [{ outer, openings: [] }], lines: [cut(outer)] },
      reach: [{ outer: clip, openings: [] }],
      layers: round.layers.map((layer) => ({
        ...layer,
        box: inset({ x: 0, y: 0, width: 19_300, height: 14_700 }, -2000),
        clip: [clip],
      })),
    };
    const at = [0, 1, 2, 3, 4, 5].flatMap((i) =>
      [0, 1, 2, 3].map((j) => [20.03 + i * 20.3, 50.06 + j * 15.7] as const),
    );
    const sheet = await made(at.map((place) => ({ prepared: card, at: place })));
    const { faults } = await proveSheet(sheet, await written(sheet), "full", new References());
    // Half a millimetre of bleed is less than both machines' tolerances: that paper may show is right.
    expect(faults.filter(({ check }) => check !== "paper")).toEqual([]);
  });
});
