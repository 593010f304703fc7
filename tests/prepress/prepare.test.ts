import { outlinesArea, outlinesBounds } from "@kitforme/geometry";
import { BleedCache } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import {
  drawing,
  file,
  page,
  piece,
  prepareInPixels as prepare,
  press,
  PT,
  rasterOf,
  square,
  valuesAt,
} from "./artwork-samples.ts";

const green = drawing('<path d="M0 0h20v20h-20z" fill="#0a0"/>');
const photograph = (): Promise<Buffer> =>
  sharp({
    create: {
      width: 200,
      height: 200,
      channels: 3,
      background: "#000",
      noise: { type: "gaussian", mean: 128, sigma: 30 },
    },
  })
    .jpeg({ quality: 92 })
    .toBuffer();

describe("an unprinted piece", () => {
  it("is cut only: its reach is its outline", async () => {
    for (const on of [press(), null]) {
      const { value, findings } = await prepare(piece(null), on);
      expect(findings).toEqual([]);
      expect(value).toEqual({ piece: piece(null), reach: piece(null).parts, layers: [], bleed: null });
    }
  });

  it("is cut only even with artwork: what meets a stock without a press is not opened", async () => {
    for (const artwork of [green, file("png", Buffer.from("no picture"))])
      expect(await prepare(piece(artwork), null)).toEqual({
        findings: [],
        value: { piece: piece(artwork), reach: piece(artwork).parts, layers: [], bleed: null },
      });
  });
});

describe("the reach", () => {
  it("is the outline grown by the press's bleed, round at the corners", async () => {
    const { value } = await prepare(piece(green), press());
    expect(outlinesBounds(value?.reach ?? [])).toEqual({ x: -2000, y: -2000, width: 24_000, height: 24_000 });
    // Steiner's formula for convex shapes: area + perimeter r + pi r^2, in mm2.
    const grown = outlinesArea(value?.reach ?? []) / 1e6;
    expect(Math.abs(grown - (400 + 80 * 2 + Math.PI * 4))).toBeLessThan(0.05);
  });

  it("is the piece's own bleed where it has one", async () => {
    const { value } = await prepare(piece(green, { bleed: 500 }), press());
    expect(outlinesBounds(value?.reach ?? []).width).toBe(21_000);
    expect(value?.bleed).toMatchObject({ wanted: 500, least: 500 });
  });

  it("closes in on openings, and what lies in them is bled too", async () => {
    const opening = [...square(5, 5, 10)].reverse();
    const ring = '<path fill-rule="evenodd" d="M0 0h20v20h-20z M5 5h10v10h-10z" fill="#0a0"/>';
    const { value } = await prepare(
      piece(drawing(ring), { parts: [{ outer: square(0, 0, 20), openings: [opening] }] }),
      press("rgb"),
    );
    expect(outlinesBounds([{ outer: value?.reach[0]?.openings[0] ?? [], openings: [] }])).toMatchObject({
      x: 7000,
      width: 6000,
    });
    const layers = value?.layers ?? [];
    expect(valuesAt(layers, 6.5, 10)).toEqual([0, 170, 0]);
    expect(valuesAt(layers, 10, 10)).toBeUndefined();
  });

  it("may be nothing beyond the outline", async () => {
    const { value, findings } = await prepare(piece(green, { bleed: 0 }), press("rgb"));
    expect(findings).toEqual([]);
    expect(valuesAt(value?.layers ?? [], 10, 10)).toEqual([0, 170, 0]);
    expect(valuesAt(value?.layers ?? [], 20.2, 10)).toBeUndefined();
  });
});

describe("layers", () => {
  it("of an opaque picture: ring below, designer's own file on top, everything within the reach", async () => {
    const { value } = await prepare(piece(file("jpeg", await photograph())), press("rgb"));
    const layers = value?.layers ?? [];
    expect(layers.length).toBeGreaterThan(2);
    expect(layers.map((layer) => rasterOf(layer).data.kind)).toEqual([...layers.slice(1).map(() => "raw"), "jpeg"]);
    expect(layers.at(-1)?.box).toEqual({ x: 0, y: 0, width: 20_000, height: 20_000 });
    for (const { clip } of layers) expect(clip?.length).toBeGreaterThan(0);
  });

  it("of a page that paints white or a neighbour's picture beyond the cut: shown as far as the cut, its bleed made", async () => {
    const fill = (inks: string, x: number, y: number, width: number, height: number): string =>
      `${inks} k ${PT(x)} ${PT(20 - y - height)} ${PT(width)} ${PT(height)} re f`;
    const boxes = { MediaBox: [-3, -3, 23, 23].map(PT) };
    const around = { x: -3000, y: -3000, width: 26_000, height: 26_000 };
    // Opaque white to 1 mm beyond the cut on the right, a blue picture from 1 mm on below, its own bleed on the left.
    const content = [
      fill("0 0 0 0", 19, -1, 2, 22),
      fill("1 0 0 0", 0, 21, 20, 2),
      fill("0 .9 .8 0", -3, 0, 23, 20),
    ].join(" ");
    const { value } = await prepare(piece(file("pdf", await page(content, {}, boxes), around)), press());
    const layers = value?.layers ?? [];
    expect(valuesAt(layers, 10, 10)).toBe("page");
    for (const [x, y] of [
      [20.2, 10],
      [20.8, 10],
      [21.8, 10],
      [10, 20.3],
      [10, 21.5],
      [-0.5, 10],
    ] as const)
      expect(valuesAt(layers, x, y), `${x}, ${y}`).toEqual([0, 229, 204, 0]);
  });

  it("of a piece of several parts: each has its bleed", async () => {
    const parts = [
      { outer: square(0, 0, 6), openings: [] },
      { outer: square(14, 14, 6), openings: [] },
    ];
    const art = '<path d="M0 0h6v6h-6z" fill="#f00"/><path d="M14 14h6v6h-6z" fill="#00f"/>';
    const { value } = await prepare(piece(drawing(art), { parts }), press("rgb"));
    expect(value?.reach).toHaveLength(2);
    expect(valuesAt(value?.layers ?? [], 7.5, 3)).toEqual([255, 0, 0]);
    expect(valuesAt(value?.layers ?? [], 12.5, 17)).toEqual([0, 0, 255]);
    expect(valuesAt(value?.layers ?? [], 10, 10)).toBeUndefined();
  });

  it("have ids that follow from their content alone", async () => {
    const bytes = await photograph();
    const ids = async (artwork: Parameters<typeof piece>[0]): Promise<string[]> =>
      ((await prepare(piece(artwork), press())).value?.layers ?? []).map((layer) =>
        layer.kind === "page" ? layer.page.id : layer.raster.id,
      );
    const first = await ids(file("jpeg", bytes));
    expect(await ids({ ...file("jpeg", bytes.subarray()), file: "renamed.jpg" })).toEqual(first);
    expect(new Set([...first, ...(await ids(green))]).size).toBe(first.length + 1);
    expect(first.every((id) => /^[0-9a-f]{64}$/.test(id))).toBe(true);
  });

  it("are the same with and without a cache, and twice", async () => {
    const cache = new BleedCache();
    const artwork = file("jpeg", await photograph());
    const made = async (options = {}): Promise<unknown> => {
      const { value, findings } = await prepare(piece(artwork), press(), options);
      const layers = value?.layers.map((layer) => ({ id: rasterOf(layer).id, box: layer.box, clip: layer.clip }));
      return { layers, bleed: value?.bleed, reach: value?.reach, findings };
    };
    const plain = await made();
    for (let run = 0; run < 2; run++) expect(await made({ cache })).toEqual(plain);
    expect(cache.bytes).toBeGreaterThan(0);
  });
});

describe("findings", () => {
  it("come all at once, each with its place", async () => {
    const small = await sharp({ create: { width: 170, height: 150, channels: 3, background: "#123" } })
      .png()
      .toBuffer();
    const place = { x: 0, y: 0, width: 20_000, height: 15_000 };
    const { value, findings } = await prepare(piece(file("png", small, place)), press());
    expect(findings.map(({ rule }) => rule)).toEqual(["resolution-low", "artwork-stretched", "artwork-short"]);
    for (const { where, message, hint } of findings) {
      expect(where).toMatchObject({ kit: "kit", piece: "piece", file: "artwork.png" });
      expect(message).toMatch(/\d/);
      expect(hint.length).toBeGreaterThan(10);
    }
    expect(value).toBeDefined();
  });

  it("tell a piece with slots and no picture from a forgotten picture", async () => {
    const slot = {
      kind: "text" as const,
      slot: "name",
      box: { x: 0, y: 0, width: 9, height: 9 },
      fonts: [],
      size: 9,
      leastSize: 9,
      safe: 0,
    };
    const slots = [{ ...slot, align: "centre", colour: "#000000" } as const];
    expect((await prepare(piece(drawing("<g/>"), { slots }), press())).findings).toMatchObject([{ level: "note" }]);
    expect((await prepare(piece(drawing("<g/>")), press())).findings).toMatchObject([{ level: "warning" }]);
  });

  it("warn of artwork that lies half a millimetre off the cut: paper on two sides, its own bleed on the others", async () => {
    const off = drawing('<path d="M.5.5h20v20h-20z" fill="#0a0"/>');
    expect((await prepare(piece(off), press("rgb"))).findings).toMatchObject([
      { level: "warning", rule: "artwork-short", message: expect.stringContaining("along 41 of 41 mm") },
    ]);
    const within = drawing('<path d="M.5.5h19v19h-19z" fill="#0a0"/>');
    expect((await prepare(piece(within), press("rgb"))).findings).toMatchObject([
      { level: "note", rule: "artwork-inside" },
    ]);
  });

  it("name stretches of paper at the cut once, with every place, the longest first", async () => {
    // Seven notches in the left edge, 2 mm deep and 1.1, 1.2 ... 1.7 mm high, and one too short to be named.
    const notches = `M20 5v.6h-2v-.6z${Array.from({ length: 7 }, (_, at) => `M0 ${1 + 2.7 * at}h2v${1.1 + at / 10}h-2z`).join("")}`;
    const art = `<path fill-rule="evenodd" d="M0 0h20v20h-20z${notches}" fill="#0a0"/>`;
    const { findings } = await prepare(piece(drawing(art)), press("rgb"));
    expect(findings).toMatchObject([{ level: "warning", rule: "artwork-short" }]);
    const [{ message, places = [] }] = findings as [(typeof findings)[number]];
    // All eight, as far as pixels of 0.1 mm tell.
    const along = Number(/along ([\d.]+) of (?:79|80) mm, in 7 stretches/.exec(message)?.[1]);
    expect(Math.abs(along - 10.4)).toBeLessThan(0.5);
    expect(places).toHaveLength(7);
    for (const [n, { at }] of places.entries()) {
      expect(Math.abs((at?.[0] as number) - 0.05)).toBeLessThan(0.1);
      expect(Math.abs((at?.[1] as number) - (1 + 2.7 * (6 - n) + (1.7 - n / 10) / 2))).toBeLessThan(0.2);
    }
  });

  it("about a page whose art lies beside the piece", async () => {
    const bytes = await page(`0 0 0 1 k ${PT(18)} ${PT(18)} ${PT(2)} ${PT(2)} re f`);
    const parts = [{ outer: square(0, 10, 8), openings: [] }];
    const { value, findings } = await prepare(piece(file("pdf", bytes), { parts }), press());
    expect(findings).toMatchObject([{ level: "warning", rule: "artwork-blank" }]);
    expect(value?.layers).toEqual([]);
  });
});
