import { crc32 } from "node:zlib";
import { deflateSync } from "node:zlib";
import { prepare } from "@kitforme/prepress";
import sharp, { type Sharp } from "sharp";
import { describe, expect, it } from "vitest";
import { box, file, piece, plainTiff, press, rasterOf, ringAt, square, valuesAt } from "./artwork-samples.ts";

/** A picture of 200 x 200 pixels, four quarters of one colour each. */
const quarters = (colours: readonly [string, string, string, string], size = 200): Sharp => {
  const half = size / 2;
  const svg = colours.map(
    (fill, at) =>
      `<path d="M${(at % 2) * half} ${Math.floor(at / 2) * half}h${half}v${half}h${-half}z" fill="${fill}" shape-rendering="crispEdges"/>`,
  );
  return sharp(
    Buffer.from(`<svg xmlns="http://www.w3.org/2000/svg" width="${size}" height="${size}">${svg.join("")}</svg>`),
  );
};
const four = (): Sharp => quarters(["#f00", "#0f0", "#00f", "#ff0"]).removeAlpha();

const rules = async (...args: Parameters<typeof prepare>): Promise<string[]> =>
  (await prepare(...args)).findings.map(({ level, rule }) => `${level} ${rule}`);

describe("a picture on its piece", () => {
  it("fills its box, drawing y down", async () => {
    const { value } = await prepare(piece(file("png", await four().png().toBuffer())), press("rgb"));
    const layers = value?.layers ?? [];
    expect(valuesAt(layers, 5, 5)).toEqual([255, 0, 0]);
    expect(valuesAt(layers, 15, 5)).toEqual([0, 255, 0]);
    expect(valuesAt(layers, 5, 15)).toEqual([0, 0, 255]);
    expect(valuesAt(layers, 15, 15)).toEqual([255, 255, 0]);
  });

  it("is bled past its box on all sides, from its nearest colour", async () => {
    const { value } = await prepare(piece(file("png", await four().png().toBuffer())), press("rgb"));
    const layers = value?.layers ?? [];
    expect(valuesAt(layers, -1.5, 5)).toEqual([255, 0, 0]);
    expect(valuesAt(layers, 21.5, 5)).toEqual([0, 255, 0]);
    expect(valuesAt(layers, 5, 21.5)).toEqual([0, 0, 255]);
    expect(valuesAt(layers, -2.5, 5)).toBeUndefined();
    expect(value?.bleed).toMatchObject({ wanted: 2000, least: 2000, own: 0 });
  });

  it("keeps the designer's own bleed", async () => {
    // 26 mm over a piece of 20 mm: 3 mm more than the piece on each side.
    const place = { x: -3000, y: -3000, width: 26_000, height: 26_000 };
    const photo = await sharp({
      create: {
        width: 260,
        height: 260,
        channels: 3,
        background: "#000",
        noise: { type: "gaussian", mean: 128, sigma: 30 },
      },
    })
      .png()
      .toBuffer();
    const own = await prepare(piece(file("png", photo, place)), press("rgb"));
    expect(own.value?.bleed?.made).toBe(0);
    expect(own.value?.layers).toHaveLength(1);
  });

  it("is turned as its camera says", async () => {
    const turned = await four()
      .withMetadata({ orientation: 6 })
      .jpeg({ quality: 100, chromaSubsampling: "4:4:4" })
      .toBuffer();
    const { value } = await prepare(piece(file("jpeg", turned)), press("rgb"));
    const layers = value?.layers ?? [];
    // Orientation 6: the stored left edge is the top (Exif 2.3, tag Orientation). Pixels, for a PDF turns nothing by Exif.
    expect(rasterOf(layers.at(-1)).data.kind).toBe("raw");
    const [red, , blue] = valuesAt(layers, 15, 5) as number[];
    expect([red as number, blue as number].map((v) => Math.round(v / 255))).toEqual([1, 0]);
    const [, , blueLeft] = valuesAt(layers, 5, 5) as number[];
    expect(blueLeft).toBeGreaterThan(240);
  });

  it("with alpha becomes one opaque picture, paper where nothing is drawn", async () => {
    const png = await quarters(["#f00", "#0f0", "none", "#ff0"]).png().toBuffer();
    const { value, findings } = await prepare(piece(file("png", png)), press("rgb"));
    expect(value?.layers).toHaveLength(1);
    expect(valuesAt(value?.layers ?? [], 5, 15)).toEqual([255, 255, 255]);
    expect(valuesAt(value?.layers ?? [], 15, 15)).toEqual([255, 255, 0]);
    expect(valuesAt(value?.layers ?? [], 15, 21.5)).toEqual([255, 255, 0]);
    const short = findings.filter(({ rule }) => rule === "artwork-short");
    expect(short).toHaveLength(1);
    // A quarter of four sides of 20 mm, around the lower left corner.
    expect(short[0]?.message).toMatch(/along (?:19|20) of (?:79|80) mm:/);
    const [x, y] = (short[0]?.where.at ?? []) as [number, number];
    expect(Math.min(x, 20 - y)).toBeLessThan(0.2);
    expect(x).toBeLessThan(10);
    expect(y).toBeGreaterThan(10);
  });

  it("with alpha takes no colour for its bleed from pixels that are opaque and yet mixed", async () => {
    // Cream over navy, both clipped to the outline: the edge is opaque after the third layer, and a share of it navy.
    const edge = Buffer.alloc(200 * 200 * 4);
    for (let pixel = 0; pixel < 200 * 200; pixel++) {
      const out = Math.max(Math.abs((pixel % 200) - 99.5), Math.abs(Math.floor(pixel / 200) - 99.5));
      const mixed = out > 79 && pixel % 7 === 0;
      edge.set(out > 80 ? [0, 0, 0, 0] : mixed ? [200, 200, 210, 255] : [251, 245, 230, 255], pixel * 4);
    }
    const png = await sharp(edge, { raw: { width: 200, height: 200, channels: 4 } })
      .png()
      .toBuffer();
    const parts = [{ outer: square(2, 2, 16), openings: [] }];
    const { value } = await prepare(piece(file("png", png), { parts }), press("rgb"));
    const layers = value?.layers ?? [];
    for (let at = 2.05; at < 18; at += 0.1)
      for (const [x, y] of [
        [at, 0.5],
        [at, 19.5],
        [0.5, at],
        [19.5, at],
      ] as const)
        expect(valuesAt(layers, x, y)).toEqual([251, 245, 230]);
    // Inside the cut every opaque pixel is the designer's own.
    expect(valuesAt(layers, 2.55, 2.05)).toEqual([200, 200, 210]);
    expect(value?.bleed?.least).toBe(2000);
  });

  it("with alpha that hides nothing is opaque: its white page is no bleed", async () => {
    const picture = await sharp({
      create: { width: 260, height: 260, channels: 4, background: { r: 255, g: 255, b: 255, alpha: 1 } },
    })
      .composite([{ input: await four().png().toBuffer(), left: 30, top: 30 }])
      .png()
      .toBuffer();
    const place = { x: -3000, y: -3000, width: 26_000, height: 26_000 };
    const { value } = await prepare(piece(file("png", picture, place)), press("rgb"));
    expect(valuesAt(value?.layers ?? [], -1.5, 5)).toEqual([255, 0, 0]);
  });

  it("is cropped to the piece, and only brought down when it is far too fine", async () => {
    const wide = { x: -40_000, y: -40_000, width: 100_000, height: 100_000 };
    const png = await sharp({ create: { width: 1000, height: 1000, channels: 3, background: "#246" } })
      .png()
      .toBuffer();
    const cropped = await prepare(piece(file("png", png, wide)), press("rgb"));
    const { width, height } = rasterOf(cropped.value?.layers.at(-1));
    // 20 mm, 2 mm of bleed and 2 mm around, at ten pixels a millimetre.
    expect([width, height]).toEqual([280, 280]);
    const fine = await sharp({ create: { width: 1000, height: 1000, channels: 3, background: "#246" } })
      .png()
      .toBuffer();
    const reduced = await prepare(piece(file("png", fine)), press("rgb"));
    expect(rasterOf(reduced.value?.layers.at(-1)).width).toBe(200);
  });

  it("shows no half-white edge inside the cut", async () => {
    // A disc drawn to the contour, smoothed against a white page.
    const svg =
      '<svg xmlns="http://www.w3.org/2000/svg" width="200" height="200"><path d="M0 0h200v200H0z" fill="#fff"/><path d="M30.5 30.5h139v139h-139z" fill="#036"/></svg>';
    const png = await sharp(Buffer.from(svg)).png().toBuffer();
    const parts = [{ outer: square(3.05, 3.05, 13.9), openings: [] }];
    const { value } = await prepare(piece(file("png", png), { parts }), press("rgb"));
    for (const x of [3.06, 3.12, 3.2, 10, 16.9]) expect(valuesAt(value?.layers ?? [], x, 10)).toEqual([0, 51, 102]);
  });
});

describe("a JPEG", () => {
  const jpeg = (): Sharp => four().jpeg({ quality: 95, chromaSubsampling: "4:4:4" });

  it("passes through untouched but for its metadata, with a profile, and its ring says the same", async () => {
    const bytes = await four()
      .withMetadata({ exif: { IFD0: { Artist: "Somebody" } } })
      .jpeg({ quality: 95 })
      .toBuffer();
    const { value } = await prepare(piece(file("jpeg", bytes)), press("rgb"));
    const layers = value?.layers ?? [];
    const raster = rasterOf(layers.at(-1));
    expect(raster.data.kind).toBe("jpeg");
    expect(Buffer.from(raster.data.bytes).includes("Somebody")).toBe(false);
    expect(await sharp(raster.data.bytes).raw().toBuffer()).toEqual(await sharp(bytes).raw().toBuffer());
    expect(raster.profile?.length).toBeGreaterThan(100);
    const ring = rasterOf(layers[0]);
    expect(ring.data.kind).toBe("raw");
    expect([ring.space, ring.profile]).toEqual(["rgb", raster.profile]);
    const [red, green] = ringAt(layers, -1.5, 5) as number[];
    expect(red).toBeGreaterThan(245);
    expect(green).toBeLessThan(12);
  });

  it("keeps its own profile", async () => {
    const bytes = await four().withIccProfile("p3").jpeg().toBuffer();
    const { icc } = await sharp(bytes).metadata();
    const raster = rasterOf((await prepare(piece(file("jpeg", bytes)), press("rgb"))).value?.layers.at(-1));
    expect(Buffer.compare(Buffer.from(raster.profile ?? []), icc ?? Buffer.of())).toBe(0);
  });

  it("may be progressive or grey", async () => {
    for (const bytes of [
      await jpeg().jpeg({ progressive: true }).toBuffer(),
      await four().toColourspace("b-w").jpeg().toBuffer(),
    ])
      expect(rasterOf((await prepare(piece(file("jpeg", bytes)), press("rgb"))).value?.layers.at(-1)).data.kind).toBe(
        "jpeg",
      );
  });

  it("of CMYK is told to be inverted by its Adobe marker, and its ring has ink amounts", async () => {
    const { outputProfile } = await import("@kitforme/prepress");
    const bytes = await sharp({ create: { width: 200, height: 200, channels: 3, background: "#00a0e0" } })
      .withIccProfile(outputProfile(press())?.path ?? "")
      .jpeg({ quality: 100 })
      .toBuffer();
    const { value } = await prepare(piece(file("jpeg", bytes)), press("cmyk"));
    const raster = rasterOf(value?.layers.at(-1));
    expect([raster.space, raster.data.inverted, raster.profile]).toEqual(["cmyk", true, undefined]);
    const [cyan, , , black] = ringAt(value?.layers ?? [], -1.5, 5) as number[];
    expect(cyan).toBeGreaterThan(180);
    expect(black).toBeLessThan(40);
    // Without the marker the same bytes mean the opposite inks.
    const marker = bytes.indexOf("Adobe") - 4;
    const plain = Buffer.concat([bytes.subarray(0, marker), bytes.subarray(marker + 16)]);
    const other = await prepare(piece(file("jpeg", plain)), press("cmyk"));
    expect(rasterOf(other.value?.layers.at(-1)).data.inverted).toBe(false);
    expect((ringAt(other.value?.layers ?? [], -1.5, 5) as number[])[0]).toBe(255 - (cyan as number));
  });

  it("is converted where the press has no such colours", async () => {
    const bytes = await jpeg().toBuffer();
    const raster = rasterOf((await prepare(piece(file("jpeg", bytes)), press("grey"))).value?.layers.at(-1));
    expect([raster.space, raster.data.kind]).toEqual(["grey", "raw"]);
  });
});

describe("resolution", () => {
  const of = async (width: number, height: number): Promise<Buffer> =>
    sharp({ create: { width, height, channels: 3, background: "#369" } })
      .png()
      .toBuffer();
  const at = async (width: number, height: number, more = {}): Promise<string[]> =>
    rules(piece(file("png", await of(width, height))), { ...press("rgb"), resolution: 300 }, more);

  // Limits: common practice, no normative source. 20 mm are 0.787 in: 189 px for 240 ppi, 118 px for 150 ppi.
  it.each([
    [237, []],
    [190, []],
    [187, ["warning resolution-low"]],
    [119, ["warning resolution-low"]],
    [116, ["error resolution-low"]],
  ])("%i pixels over 20 mm: %j", async (pixels, told) => {
    expect(await at(pixels, pixels)).toEqual(told);
  });

  it("counts the lower axis, and tells a stretched picture", async () => {
    expect(await at(240, 150)).toEqual(["warning resolution-low", "warning artwork-stretched"]);
  });

  it("says how many pixels are wanted", async () => {
    const { findings } = await prepare(piece(file("png", await of(100, 100))), { ...press("rgb"), resolution: 300 });
    expect(findings[0]?.message).toContain("127 x 127 ppi");
    expect(findings[0]?.hint).toContain("237 x 237 pixels");
    expect(findings[0]?.where).toMatchObject({ kit: "kit", piece: "piece", file: "artwork.png" });
  });

  it("takes other limits", async () => {
    expect(await at(116, 116, { resolution: { refuse: 100, warn: 140 } })).toEqual([]);
  });
});

describe("TIFF files of other programs", () => {
  it.each([
    ["8 bits", 8, 1],
    ["16 bits", 16, 257],
  ] as const)("in CMYK of %s keep their inks", async (_, bits, scale) => {
    const inks = [200, 40, 0, 90];
    const bytes = plainTiff(
      5,
      inks.map((ink) => ink * scale),
      bits,
    ); // prettier-ignore
    const { value, findings } = await prepare(piece(file("tiff", bytes)), press("cmyk"));
    expect(findings).toEqual([]);
    expect(valuesAt(value?.layers ?? [], 10, 10)).toEqual(inks);
    const see = [...inks, 255];
    const alpha = plainTiff(
      5,
      see.map((ink) => ink * scale),
      bits,
      { 338: 2 },
    ); // prettier-ignore
    expect(valuesAt((await prepare(piece(file("tiff", alpha)), press("cmyk"))).value?.layers ?? [], 10, 10)).toEqual(
      inks,
    );
  });
  // Each of these was printed in colours of its own making, or left out, without a word.
  it.each([
    ["samples of YCbCr", plainTiff(6, [200, 128, 40], 8), "YCbCr"],
    ["samples of Lab", plainTiff(8, [200, 12, 40], 8), "Lab"],
    ["other inks", plainTiff(5, [200, 12, 40, 0], 8, { 332: 2 }), "inks are others"],
    ["a saved selection", plainTiff(2, [200, 12, 40, 0], 8, { 338: 0 }), "a channel beside"],
    ["a saved selection in CMYK", plainTiff(5, [200, 12, 40, 9, 0], 8, { 338: 0 }), "a channel beside"],
    ["transparency and a selection", plainTiff(2, [200, 12, 40, 255, 0], 8, { 338: 2 }), "2 channels beside"],
  ])("with %s are refused by name", async (_, bytes, why) => {
    const { value, findings } = await prepare(piece(file("tiff", bytes)), press("cmyk"));
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-unreadable" }]);
    expect(findings[0]?.message).toContain(why);
  });
});

describe("bad pictures", () => {
  const chunk = (type: string, body: Uint8Array): Buffer => {
    const head = Buffer.alloc(4);
    head.writeUInt32BE(body.length);
    const named = Buffer.concat([Buffer.from(type), body]);
    const sum = Buffer.alloc(4);
    sum.writeUInt32BE(crc32(named) >>> 0);
    return Buffer.concat([head, named, sum]);
  };
  /** A PNG that says it is large and holds next to nothing. */
  const hollow = (width: number, height: number): Buffer => {
    const header = Buffer.alloc(13);
    header.writeUInt32BE(width, 0);
    header.writeUInt32BE(height, 4);
    header.set([8, 2, 0, 0, 0], 8);
    return Buffer.concat([
      Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
      chunk("IHDR", header),
      chunk("IDAT", deflateSync(Buffer.alloc(1000))),
      chunk("IEND", Buffer.of()),
    ]);
  };

  it("of 20,000 x 20,000 pixels are refused unopened", async () => {
    const { value, findings } = await prepare(piece(file("png", hollow(20_000, 20_000))), press());
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-oversized" }]);
    expect(findings[0]?.message).toContain("20000 x 20000");
  });

  it.each(["png", "jpeg", "tiff"] as const)("cut off in the middle are refused: %s", async (format) => {
    const noise = { type: "gaussian", mean: 128, sigma: 40 } as const;
    const whole = await sharp({ create: { width: 200, height: 200, channels: 3, background: "#000", noise } })
      .toFormat(format, format === "tiff" ? { compression: "lzw" } : {})
      .toBuffer();
    for (const share of [0.3, 0.7, 0.95]) {
      const { value, findings } = await prepare(piece(file(format, whole.subarray(0, whole.length * share))), press());
      expect(value).toBeUndefined();
      expect(findings).toMatchObject([{ level: "error", rule: "artwork-unreadable" }]);
    }
  });

  it("that end before their data are refused", async () => {
    expect(await rules(piece(file("png", hollow(200, 200))), press())).toContain("error artwork-unreadable");
  });

  it.each([
    ["nothing", Buffer.of()],
    ["words", Buffer.from("not a picture at all, but long enough to be looked at")],
    ["a drawing", Buffer.from('<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>')],
  ])("that are %s are refused", async (_, bytes) => {
    expect(await rules(piece(file("png", bytes)), press())).toEqual(["error artwork-unreadable"]);
  });

  it("of a known kind under another name are taken for what they are", async () => {
    expect(await rules(piece(file("png", await four().jpeg().toBuffer())), press())).toEqual([]);
  });

  it("of several in one file are told of, and the first is printed", async () => {
    const tall = await sharp({ create: { width: 200, height: 400, channels: 3, background: "#0f0" } })
      .raw()
      .toBuffer();
    const both = await sharp(tall, { raw: { width: 200, height: 400, channels: 3, pageHeight: 200 } })
      .tiff()
      .toBuffer();
    expect((await sharp(both).metadata()).pages).toBe(2);
    expect(await rules(piece(file("tiff", both)), press())).toEqual(["warning artwork-more-pages"]);
  });

  it("beside the piece are told", async () => {
    const place = { ...box, x: 60_000 };
    expect(await rules(piece(file("png", await four().png().toBuffer(), place)), press())).toEqual([
      "error artwork-blank",
    ]);
  });
});
