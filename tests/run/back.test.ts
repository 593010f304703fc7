// A kit with a back, from its order to both pages of the sheet.
import { apply, mm, multiply } from "@kitforme/geometry";
import { renderPage } from "@kitforme/prepress";
import { inMemory } from "@kitforme/run";
import { describe, expect, it } from "vitest";
import { check, run } from "../support/openers.ts";
import { svgMm } from "../support/kits.ts";
import { named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const margins = { top: 5, right: 5, bottom: 8, left: 12 };
const shop = named("shop.json", {
  ...SHOP,
  presses: { digital: { ...SHOP.presses.digital, margins, sides: 2, turn: "long" } },
  prices: { currency: "EUR", side: 0.25 },
});
const SVG = svgMm(
  80,
  50,
  `<path id="cut" d="M0 0H80V30L60 50H0Z"/>
   <g id="art"><rect width="80" height="50" fill="#fff"/><rect x="5" y="5" width="10" height="10" fill="#c02020"/></g>
   <g id="behind"><rect width="80" height="50" fill="#ffe060"/><rect x="5" y="35" width="10" height="10" fill="#2030a0"/></g>`,
);
const NAME = { slot: "name", box: [20, 10, 50, 14], size: 24, leastSize: 8, colour: "#000000", safe: 2 };
const kit = {
  kit: "tag",
  pieces: [
    pieceForm("tag", { turns: [90], slots: [NAME], back: { artwork: "#behind", slots: [NAME] } }),
    pieceForm("plain", { drawing: "tag.svg" }),
  ],
};
const store = () => shelf({ tag: { "kit.json": kit, "tag.svg": SVG } });
const orders = [named("o.json", { order: "B-1", lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Kåfjord" }] }] })];

/** Pixels a millimetre. */
const SCALE = 8;

/** Where something begins and ends along a line, mm of the drawing. */
const edges = (is: (mm: number) => boolean): number[] => {
  const found = Array.from({ length: 1000 }, (_, i) => 1 + i * 0.05).filter(is);
  return [found[0] ?? NaN, found.at(-1) ?? NaN];
};

describe("a kit with a back", { timeout: 120_000 }, () => {
  it("is printed on two pages: its picture behind the front, with bleed, its name to be read from behind", async () => {
    const out = inMemory();
    const { job, findings } = await run(
      { shop, orders },
      { kits: store(), out: () => out },
      { effort: "quick", threads: 1 },
    );
    // The front is white all round, on purpose.
    expect(findings.map(({ rule }) => rule)).toEqual(["artwork-inside"]);
    const { sheet } = job?.sheets[0] ?? {};
    const pdf = out.files.get("sheet-001.print.pdf");
    const tag = sheet?.placed.find(({ prepared }) => prepared.piece.piece === "tag");
    if (!sheet?.back || !tag || !pdf) throw new Error("no sheet");
    const size = { width: (sheet.width / 1000) * SCALE, height: (sheet.height / 1000) * SCALE };
    const pages = [await renderPage(pdf, 0, size), await renderPage(pdf, 1, size)] as const;
    const look = (page: 0 | 1, x: number, y: number): number[] => {
      const matrix = page === 0 ? tag.matrix : multiply(sheet.back?.matrix ?? tag.matrix, tag.matrix);
      const [px, py] = apply(matrix, mm(x), mm(y)).map((um) => (um / 1000) * SCALE) as [number, number];
      const at = (Math.round(size.height - py) * size.width + Math.round(px)) * 4;
      return [...pages[page].data.subarray(at, at + 3)];
    };
    const [[fr = 0, fg = 0], [br = 0, , bb = 0]] = [look(0, 10, 10), look(1, 10, 40)];
    expect(fr - fg).toBeGreaterThan(80);
    expect(bb - br).toBeGreaterThan(80);
    // Paper where the front is white, the back's yellow 2.5 mm beyond the cut on every side, none 3.5 mm beyond.
    expect(look(0, -2, 10)).toEqual([255, 255, 255]);
    for (const [x, y] of [
      [-2.5, 20],
      [40, -2.5],
      [82.5, 20],
      [30, 52.5],
      [71.7, 41.7],
    ] as const)
      expect(look(1, x, y)[2]).toBeLessThan(180);
    for (const [x, y] of [
      [-3.5, 20],
      [40, -3.5],
    ] as const)
      expect(look(1, x, y)).toEqual([255, 255, 255]);
    // Register: both sides' squares run from 5 to 15 mm, above and below in one line through the card, to a pixel. The press adds no more
    // than its register of 0.5 mm to that, and the back's bleed of 3 mm covers it twice, with the cutter's 1 mm (worst below).
    const across = [edges((x) => (look(0, x, 10)[1] ?? 0) < 140), edges((x) => (look(1, x, 40)[0] ?? 0) < 140)];
    const down = [edges((y) => (look(0, 10, y)[1] ?? 0) < 140), edges((y) => (look(1, 10, y)[0] ?? 0) < 140)];
    const off = (found: number[], wanted: number[]) =>
      Math.max(...found.map((mm, i) => Math.abs(mm - (wanted[i] ?? 0))));
    for (const found of across) expect(off(found, [5, 15])).toBeLessThan(1.5 / SCALE);
    expect(off(down[0] ?? [], [5, 15])).toBeLessThan(1.5 / SCALE);
    expect(off(down[1] ?? [], [35, 45])).toBeLessThan(1.5 / SCALE);
    // The name stands on the back as its reader sees it as it stands on the front: the box seen from the other side.
    const dark = (page: 0 | 1, x: number, y: number): boolean => (look(page, x, y)[0] ?? 255) < 100;
    let [same, mirrored, inked] = [0, 0, 0];
    for (let x = 20; x < 70; x += 0.25)
      for (let y = 10; y < 24; y += 0.25) {
        if (!dark(0, x, y)) continue;
        inked++;
        if (dark(1, 90 - x, y)) same++;
        if (dark(1, x, y)) mirrored++;
      }
    expect(inked).toBeGreaterThan(300);
    // Nearly all; a pixel of the edge may fall to the other side.
    expect(same / inked).toBeGreaterThan(0.7);
    expect(mirrored / inked).toBeLessThan(0.4);

    const [first] = (
      JSON.parse(new TextDecoder().decode(out.files.get("job.json"))) as {
        sheets: {
          work: { do: string; page?: number; edge?: string }[];
          tolerance: { pieces: { piece: string; side?: string; worst: number }[] };
        }[];
      }
    ).sheets;
    expect(first).toMatchObject({ sides: 2, files: { backProof: "sheet-001.back.proof.png" } });
    expect(first?.work?.map(({ do: done, page, edge }) => page ?? edge ?? done)).toEqual([1, "long", 2, "long", "cut"]);
    expect(out.files.has("sheet-001.back.proof.png")).toBe(true);
    expect(first?.tolerance?.pieces.map(({ piece, side, worst }) => [piece, side, worst])).toContainEqual([
      "tag",
      "back",
      2,
    ]);
    expect(new TextDecoder().decode(out.files.get("job.docket.txt"))).toContain("turn over the long edge");
    const estimate = JSON.parse(new TextDecoder().decode(out.files.get("job.estimate.json"))) as object;
    expect(estimate).toMatchObject({ price: { rows: [{ what: "sides", count: 2 }] } });
  });

  it("is refused where the press prints one side", async () => {
    const { findings } = await check({ shop: named("shop.json", SHOP), orders, folders: ["tag"] }, store());
    const told = findings.filter(({ rule }) => rule === "back-not-printed");
    expect(told.map(({ level, where }) => [level, where.piece, where.side])).toEqual([["error", "tag", "back"]]);
    expect(told[0]?.hint).toContain('"sides": 2');
  });
});
