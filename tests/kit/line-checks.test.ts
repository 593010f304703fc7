// Lines that would cut wrong: each rule with one drawing just inside and one just outside its limit. Limits are common practice,
// no source, but for the crease's channel (standards of several makers agree: 1.5 calipers and the rule of 0.71 mm).
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { type Finding, readKit, readShop, type Shop } from "@kitforme/kit";
import { bytes, svgMm } from "../support/kits.ts";

const margins = { top: 5, right: 5, bottom: 5, left: 5 };
const shop = (least?: object, caliper: number | null = 0.34): Shop => {
  const { value, findings } = readShop({
    stocks: {
      card: { sheet: [1000, 1400], ...(caliper === null ? {} : { caliper }), press: "digital", cutter: "table" },
      board: { sheet: [1000, 1400], caliper: 1, press: null, cutter: "table" },
    },
    presses: { digital: { margins, resolution: 300, bleed: 3, colour: "cmyk" } },
    cutters: {
      table: {
        formats: ["svg"],
        tolerance: 1,
        clearance: 1,
        margins,
        ...(least ? { least } : {}),
        marks: { shape: "disc", size: 5, clear: 2 },
        tools: { cutting: { pen: 1 }, creasing: { pen: 2 }, partialCutting: { pen: 3 }, perforating: { pen: 4 } },
      },
    },
  });
  if (!value) throw new Error(JSON.stringify(findings));
  return value;
};
const SHOP = shop();

const LINES = { cutting: "#cut", creasing: "#crease", partialCutting: "#kiss" };
/** A piece of 100 x 60 mm as its maker sees it; `art` is what is printed. */
const made = async (inner: string, more: object = {}, maker: Shop = SHOP): Promise<readonly Finding[]> => {
  const lines = Object.fromEntries(Object.entries(LINES).filter(([, id]) => inner.includes(`id="${id.slice(1)}"`)));
  const piece = { piece: "p", drawing: "p.svg", stock: "card", lines, artwork: null, ...more };
  const { findings } = await readKit(
    { folder: "k", text: { kit: "k", pieces: [piece] }, read: () => Promise.resolve(bytes(svgMm(100, 60, inner))) },
    { shop: maker },
  );
  return findings;
};
const rules = (findings: readonly Finding[]): string[] => findings.map((f) => f.rule);
const cut = (shapes: string, attributes = 'fill="none"'): string => `<g id="cut" ${attributes}>${shapes}</g>`;
const rect = (x: number, y: number, width: number, height: number, more = ""): string =>
  `<rect x="${x}" y="${y}" width="${width}" height="${height}" ${more}/>`;
const CARD = rect(0, 0, 100, 60);

describe("cut-expanded-stroke", () => {
  const ring = (w: number): string => rect(0, 0, 100, 60) + rect(w, w, 100 - 2 * w, 60 - 2 * w);
  it.each([0.25, 0.5, 1, 1.5])("two rings %f mm apart are one stroke", async (w) => {
    const found = (await made(cut(ring(w)))).find((f) => f.rule === "cut-expanded-stroke");
    expect(found).toMatchObject({ level: "error", where: { operation: "cutting", piece: "p" } });
    expect(found?.where.at).toBeDefined();
    expect(found?.message).toContain(`${w} mm apart`);
    expect(found?.hint).toContain(`${w / 2} mm`);
  });
  it("a frame 1.6 mm wide is a frame", async () => {
    expect(rules(await made(cut(ring(1.6)), { lines: { cutting: "#cut" } }))).toEqual([]);
  });
  it("round strokes, strokes of openings, stars with mitres", async () => {
    const circles = cut(CARD + '<circle cx="50" cy="30" r="15"/><circle cx="50" cy="30" r="14.4"/>');
    expect(rules(await made(circles))).toContain("cut-expanded-stroke");
    const star = (r: number): string =>
      `<polygon points="${Array.from({ length: 10 }, (_, i) => {
        const [radius, angle] = [i % 2 ? r * 0.382 : r, (i * Math.PI) / 5];
        return `${50 + radius * Math.sin(angle)},${30 - radius * Math.cos(angle)}`;
      }).join(" ")}"/>`;
    // A star and its smaller self: parallel all the way, the mitre at the tips longer than the stroke is wide.
    expect(rules(await made(cut(star(28) + star(26.5))))).toContain("cut-expanded-stroke");
  });
  it("a hole in the middle of a ring-shaped piece, off its centre, is none", async () => {
    const ring = cut('<circle cx="50" cy="30" r="20"/><circle cx="50.9" cy="30" r="18.8"/>');
    expect(rules(await made(ring))).not.toContain("cut-expanded-stroke");
  });
});

describe("cuts-nearly-equal", () => {
  const twice = (d: number): string => cut(CARD + rect(20 + d, 20, 30, 20) + rect(20, 20 + d, 30, 20));
  it.each([
    [0.05, true],
    [0.19, true],
    [0.3, false],
  ])("a rectangle drawn twice, %f mm off: %s", async (d, told) => {
    expect(rules(await made(twice(d))).includes("cuts-nearly-equal")).toBe(told);
  });
  it("slits too, and exact copies are left to line-doubled", async () => {
    const slits = (d: number) => made(cut(`${CARD}<path d="M20 20H60"/><path d="M20.1 ${20 + d}H60"/>`));
    expect(rules(await slits(0.15))).toContain("cuts-nearly-equal");
    expect(rules(await made(twice(0)))).toEqual(["line-doubled"]);
    expect(rules(await slits(0.5))).not.toContain("cuts-nearly-equal");
  });
});

describe("paper-thin", () => {
  const thin = (findings: readonly Finding[]) => findings.filter((f) => f.rule === "paper-thin");
  const holes = (gap: number): string => cut(CARD + rect(20, 20, 10, 10) + rect(30 + gap, 20, 10, 10));
  it.each([
    [0.9, 1],
    [1, 0],
  ])("between two openings %f mm apart: %i", async (gap, count) => {
    const found = thin(await made(holes(gap)));
    expect(found).toHaveLength(count);
    if (count > 0) expect(found[0]).toMatchObject({ level: "warning", message: expect.stringContaining(`${gap} mm`) });
  });
  it("says where", async () => {
    const [found] = thin(await made(holes(0.5)));
    const [x = 0, y = 0] = found?.where.at ?? [];
    expect(x).toBeCloseTo(30.25, 2);
    expect(y).toBeGreaterThanOrEqual(20);
    expect(y).toBeLessThanOrEqual(30);
  });
  it.each([
    ["an opening near the edge", cut(CARD + rect(0.8, 20, 10, 10)), 1],
    ["an opening far enough from it", cut(CARD + rect(1.1, 20, 10, 10)), 0],
    ["a neck between two lobes", cut('<path d="M0 0H45V29.6H55V0H100V60H55V30.4H45V60H0z"/>'), 1],
    ["a neck wide enough", cut('<path d="M0 0H45V29.4H55V0H100V60H55V30.6H45V60H0z"/>'), 0],
    ["a finger", cut('<path d="M0 0H60V20H90V20.7H60V60H0z"/>'), 1],
    ["a notch: air is no paper", cut('<path d="M0 0H100V30H60V30.7H100V60H0z"/>'), 0],
    ["a tip of 30 degrees", cut('<path d="M0 0H90L100 18.66L80 18.66V60H0z"/>'), 0],
    ["a round piece", cut('<circle cx="50" cy="30" r="2"/>'), 0],
    ["openings that meet in a corner", cut(CARD + rect(20, 20, 10, 10) + rect(30, 30, 10, 10)), 1],
  ])("%s", async (_, inner, count) => {
    expect(thin(await made(inner))).toHaveLength(count);
  });
  it.each([
    ["a slit beside the edge", '<path d="M0.9 10V50"/>', 1],
    ["a slit far enough from it", '<path d="M1 10V50"/>', 0],
    ["a slit that starts at the edge", '<path d="M0 20H50"/>', 0],
    ["two slits side by side", '<path d="M20 10V50"/><path d="M20.8 10V50"/>', 1],
    ["two slits that cross", '<path d="M20 10V50"/><path d="M10 30H30"/>', 0],
    ["a slit that ends on another", '<path d="M20 10V50"/><path d="M20 30H30"/>', 0],
    ["a perforation drawn by hand", '<path d="M20 10V12"/><path d="M20 12.8V14.8"/><path d="M20 15.6V17.6"/>', 0],
    ["a slit that stops short of another", '<path d="M20 10V50"/><path d="M20.5 30H30"/>', 1],
  ])("%s", async (_, slits, count) => {
    expect(thin(await made(cut(CARD + slits)))).toHaveLength(count);
  });
  it("as thin as the shop's cutter says", async () => {
    expect(thin(await made(holes(0.9), {}, shop({ bridge: 0.5 })))).toEqual([]);
    expect(thin(await made(holes(1.9), {}, shop({ bridge: 2 })))).toHaveLength(1);
    expect(thin(await made(holes(0.1), {}, shop({ bridge: 0 })))).toEqual([]);
  });
});

describe("opening-small and corners-near", () => {
  it.each([
    [2.9, 2.9, ["opening-small"]],
    [3, 3, []],
    [1, 12, []],
    [0.9, 12, ["corners-near", "corners-near"]],
  ])("an opening of %f x %f mm: %j", async (width, height, met) => {
    expect(rules(await made(cut(CARD + rect(20, 20, width, height))))).toEqual(met);
  });
  it("as the shop's cutter says", async () => {
    const hole = cut(CARD + rect(20, 20, 2, 2));
    expect(rules(await made(hole, {}, shop({ opening: 1.5 })))).toEqual([]);
    expect(rules(await made(hole, {}, shop({ opening: 4, corner: 2.5 })))).toContain("corners-near");
  });
  it("curves, chamfers and the zigzag of a traced edge are no corners", async () => {
    const zigzag = Array.from({ length: 160 }, (_, i) => `L${100 - i * 0.6} ${58 + (i % 2) * 0.2}`).join("");
    for (const shape of [
      rect(10, 10, 60, 30, 'rx="0.4"'),
      '<path d="M10 10H50L50.5 10.5V40H10z"/>',
      `<path d="M0 0H100V58${zigzag}L0 58z"/>`,
    ])
      expect(rules(await made(cut(shape))), shape.slice(0, 60)).not.toContain("corners-near");
  });
});

describe("crease-near", () => {
  // Caliper 0.34 mm: channels of 1.22 mm, 2.44 mm from crease to crease, 3 mm from crease to cut.
  const creases = (inner: string, maker?: Shop) => made(`${cut(CARD)}<g id="crease">${inner}</g>`, {}, maker);
  it.each([
    ["two creases 2.4 mm apart", '<path d="M20 0V60"/><path d="M22.4 0V60"/>', 1],
    ["two creases 2.5 mm apart", '<path d="M20 0V60"/><path d="M22.5 0V60"/>', 0],
    ["a crease 2.9 mm from the edge", '<path d="M2.9 0V60"/>', 1],
    ["a crease 3 mm from the edge", '<path d="M3 0V60"/>', 0],
    ["creases that meet in a point", '<path d="M0 0L100 60"/><path d="M0 0L100 50"/><path d="M0 0L90 60"/>', 0],
    ["creases in line, one after the other", '<path d="M20 0V30"/><path d="M21 31V60"/>', 0],
    ["a crease across a crease", '<path d="M20 0V60"/><path d="M0 30H100"/>', 0],
  ])("%s", async (_, inner, count) => {
    const found = (await creases(inner)).filter((f) => f.rule === "crease-near");
    expect(found).toHaveLength(count);
    for (const finding of found) expect(finding.where.at).toBeDefined();
  });
  it("thinner paper allows more, and without a caliper nothing is known", async () => {
    const near = '<path d="M20 0V60"/><path d="M22 0V60"/>';
    expect(rules(await creases(near))).toEqual(["crease-near"]);
    expect(rules(await creases(near, shop(undefined, 0.15)))).toEqual([]);
    expect(rules(await creases(near, shop(undefined, null)))).toEqual([]);
  });
});

describe("how lines are painted", () => {
  it("cut-dashed: a dashed stroke in a cutting layer", async () => {
    const dashed = (attributes: string) => made(cut(CARD, `fill="none" stroke="#000" ${attributes}`));
    expect(await dashed('stroke-dasharray="4 2"')).toMatchObject([
      { rule: "cut-dashed", level: "warning", where: { operation: "cutting", at: [0, 0] } },
    ]);
    expect(rules(await dashed('style="stroke-dasharray:3,1"'))).toEqual(["cut-dashed"]);
    for (const solid of ['stroke-dasharray="none"', 'stroke-dasharray="0"', ""])
      expect(rules(await dashed(solid))).toEqual([]);
    expect(
      rules(await made(`${cut(CARD)}<g id="crease" stroke="#000" stroke-dasharray="4 2"><path d="M20 0V60"/></g>`)),
    ).toEqual([]);
  });
  it("line-unseen: an invisible shape among lines that are seen", async () => {
    // LibreOffice 7.4 draws such a box around every shape.
    const box = rect(20, 20, 10, 10, 'class="BoundingBox" stroke="none" fill="none"');
    const seen = (more: string) => made(cut(`${CARD}${box}`, `fill="none" ${more}`));
    expect(await seen('stroke="#f00"')).toMatchObject([
      {
        rule: "line-unseen",
        level: "warning",
        where: { operation: "cutting", at: [20, 20] },
        message: expect.stringContaining('<rect class="BoundingBox">'),
      },
    ]);
    // Lines that nobody painted at all are lines all the same, and so is what a use paints.
    expect(rules(await seen(""))).toEqual([]);
    const used = `<defs><g fill="none">${rect(0, 0, 10, 10, 'id="hole"')}</g></defs>`;
    expect(
      rules(await made(`${used}${cut(`${CARD}<use href="#hole" x="20" y="20"/>`, 'fill="none" stroke="#f00"')}`)),
    ).toEqual([]);
  });
  it("fill-lost: a filled shape that is cut, on printed stock", async () => {
    const filled = (fill: string, more: object) => made(cut(CARD, fill), more);
    expect(await filled('fill="#2f7f8a"', { artwork: undefined })).toMatchObject([
      { rule: "fill-lost", level: "warning", message: expect.stringContaining("comes out blank") },
    ]);
    for (const [fill, more] of [
      ['fill="none"', { artwork: undefined }],
      ['fill="#fff"', { artwork: undefined }],
      ['fill="#2f7f8a" fill-opacity="0"', { artwork: undefined }],
      ["", { artwork: undefined }],
      ['fill="#2f7f8a"', { artwork: undefined, stock: "board" }],
    ] as const)
      expect(rules(await filled(fill, more)), fill).toEqual([]);
    const beside = await made(`${cut(CARD, 'fill="#2f7f8a"')}<circle cx="50" cy="30" r="9"/>`, { artwork: undefined });
    expect(beside).toMatchObject([{ rule: "fill-lost", level: "note" }]);
  });
  it("die-line-prints: a thin closed stroke in the artwork that runs along the cut", async () => {
    const art = (x: number, width: number, more = 'stroke="#000" fill="none"') =>
      made(`${cut(CARD)}<g id="art">${rect(x, x, 100 - 2 * x, 60 - 2 * x, `${more} stroke-width="${width}"`)}</g>`, {
        artwork: "#art",
      });
    expect(await art(0, 0.25)).toMatchObject([
      { rule: "die-line-prints", level: "warning", where: { piece: "p" }, message: expect.stringContaining("0.25 mm") },
    ]);
    expect(rules(await art(0.25, 1))).toEqual(["die-line-prints"]);
    expect(rules(await art(0.4, 1))).toEqual([]);
    expect(rules(await art(0, 1.2))).toEqual([]);
    expect(rules(await art(0, 0.25, 'stroke="none" fill="#ccc"'))).toEqual([]);
    expect(rules(await art(0, 0.25, 'stroke="#000" fill="#ccc"'))).toEqual([]);
    // In an artwork file, in units of its own, the same.
    const file = { artwork: { file: "p.svg", box: [0, 0, 100, 60] } };
    const both = `${cut(CARD, 'fill="none" stroke="#000" stroke-width=".25"')}<circle cx="50" cy="30" r="9"/>`;
    expect(rules(await made(both, file))).toEqual(["die-line-prints"]);
    expect(rules(await made(both, { artwork: { file: "p.svg", box: [5, 3, 90, 54] } }))).toEqual([]);
    // Along one side only: a decoration.
    const side = `${cut(CARD)}<g id="art"><path d="M0 0V60" stroke="#000" fill="none" stroke-width=".3"/></g>`;
    expect(rules(await made(side, { artwork: "#art" }))).toEqual([]);
  });
});

describe("no false alarm, and fast", () => {
  const folder = join(import.meta.dirname, "../../fixtures/contours");
  const NEW = /^(cut-|cuts-|paper-|opening-small|corners-|crease-near|die-line|fill-lost)/;
  it.each(readdirSync(folder).filter((file) => file.endsWith(".json")))("%s", async (file) => {
    const { outlines } = JSON.parse(readFileSync(join(folder, file), "utf8")) as {
      outlines: { outer: [number, number][]; openings: [number, number][][] }[];
    };
    const d = outlines
      .flatMap(({ outer, openings }) => [outer, ...openings])
      .map((ring) => `M${ring.map(([x, y]) => `${x / 1000} ${y / 1000}`).join("L")}z`);
    expect(rules(await made(cut(`<path d="${d.join("")}"/>`))).filter((rule) => NEW.test(rule))).toEqual([]);
  });
  it("20,000 corners and 1,500 openings within a few seconds of a processor", async () => {
    const many = Array.from({ length: 19_000 }, (_, i) => {
      const [a, r] = [(i / 19_000) * 2 * Math.PI, 27 + 1.5 * Math.sin(i / 3)];
      return `${(50 + r * Math.cos(a)).toFixed(3)},${(30 + r * Math.sin(a)).toFixed(3)}`;
    });
    const lace = Array.from({ length: 1500 }, (_, i) =>
      rect(1.5 + (i % 50) * 1.9, 1.5 + Math.floor(i / 50) * 1.9, 1, 1),
    );
    for (const shapes of [`<polygon points="${many.join(" ")}"/>`, CARD + lace.join("")]) {
      const before = process.cpuUsage();
      await made(cut(shapes));
      expect(process.cpuUsage(before).user).toBeLessThan(8e6);
    }
  });
});
