import { writePrint } from "@kitforme/files";
import { matrixOf, mm } from "@kitforme/geometry";
import { inkOf, outputProfile, type Page, type PreparedPiece, type Raster, renderPage } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { cmyk, decodePDFRawStream, PDFDict, PDFDocument, PDFName, PDFRawStream, PDFString } from "pdf-lib";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { ghostscript, has, mutool, type Pixels, plates, poppler, sampleAt, says } from "../support/oracle.ts";
import {
  boardSheet,
  drawn,
  drawnPage,
  harbourSheet,
  painted,
  piece,
  placed,
  press,
  rect,
  sheetOf,
  stock,
  wall,
  words,
} from "../support/sheets.ts";

const options = { title: "Harbour", profile: outputProfile(press()) };
const print = (sheet: Sheet): Promise<Uint8Array> => writePrint(sheet, options);

/** A card of 40 x 30 mm wholly filled by one layer. */
const card = (layer: { readonly raster: Raster } | { readonly page: Page }): PreparedPiece => {
  const outer = drawn([0, 30], [40, 30], [40, 0], [0, 0]);
  const parts = [{ outer, openings: [] }];
  const box = rect(0, 0, 40, 30);
  return {
    piece: piece("card", [40, 30], parts, []),
    reach: parts,
    layers: [
      "raster" in layer ? { kind: "raster", ...layer, box, clip: null } : { kind: "page", ...layer, box, clip: null },
    ],
    bleed: null,
  };
};

/** One card whose drawing's top-left corner is at (20, 60) of a sheet without anything else: it fills 20..60 x 30..60 mm. */
const alone = (prepared: PreparedPiece, more: Partial<Sheet> = {}): Sheet =>
  sheetOf([placed(1, prepared, 0, [20, 60], [])], { width: mm(80), height: mm(80), marks: [], inks: [], ...more });

const flat = (space: Raster["space"], pixel: readonly number[], profile?: Uint8Array): Raster =>
  painted(`flat-${space}-${pixel.join()}-${profile?.length}`, space, [8, 6], () => pixel, profile);

/** The operators of every form, unpacked. */
const forms = async (bytes: Uint8Array): Promise<string[]> => {
  const { context } = await PDFDocument.load(bytes, { updateMetadata: false });
  return context
    .enumerateIndirectObjects()
    .map(([, object]) => object)
    .filter(
      (o): o is PDFRawStream => o instanceof PDFRawStream && o.dict.get(PDFName.of("Subtype")) === PDFName.of("Form"),
    )
    .map((form) => Buffer.from(decodePDFRawStream(form).decode()).toString("latin1"));
};

const images = async (bytes: Uint8Array) => {
  const { context } = await PDFDocument.load(bytes, { updateMetadata: false });
  return context
    .enumerateIndirectObjects()
    .map(([, object]) => object)
    .filter(
      (o): o is PDFRawStream => o instanceof PDFRawStream && o.dict.get(PDFName.of("Subtype")) === PDFName.of("Image"),
    );
};

let harbour: Sheet;
let bytes: Uint8Array;
beforeAll(async () => {
  harbour = await harbourSheet();
  bytes = await print(harbour);
});

describe("the file", () => {
  it("is the same bytes for the same sheet, and has another /ID for another", async () => {
    expect(Buffer.from(await print(structuredClone(harbour))).equals(bytes)).toBe(true);
    const idOf = (file: Uint8Array) =>
      /\/ID \[ <([0-9a-f]{32})> <\1> \]/.exec(Buffer.from(file).toString("latin1"))?.[1];
    const other = await print({ ...harbour, placed: harbour.placed.slice(1) });
    expect(idOf(bytes)).toBeDefined();
    expect(idOf(other)).not.toBe(idOf(bytes));
    expect(Buffer.from(bytes).toString("latin1")).toContain(`uuid:${idOf(bytes)}`);
  });

  it("has its boxes on the page itself, as large as the sheet (ISO 32000, page objects; PDF/X-4 second-hand)", async () => {
    const page = (await PDFDocument.load(bytes, { updateMetadata: false })).getPage(0).node;
    for (const name of ["MediaBox", "CropBox", "BleedBox", "TrimBox"]) {
      const box = page.get(PDFName.of(name))?.toString();
      // 320 x 450 mm at 72 points to 25.4 mm.
      expect([name, box]).toEqual([name, "[ 0 0 907.0866 1275.5906 ]"]);
    }
    expect(page.has(PDFName.of("ArtBox"))).toBe(false);
  });

  it.runIf(has("qpdf"))("has no fault that qpdf knows (oracle: qpdf --check)", () => {
    expect(says("qpdf", (f) => ["--check", f], bytes)).toContain("No syntax or stream encoding errors");
  });

  it.runIf(has("pdffonts"))("holds no fonts: letters are shapes (oracle: pdffonts)", () => {
    expect(
      says("pdffonts", (f) => [f], bytes)
        .trim()
        .split("\n"),
    ).toHaveLength(2);
  });

  it.runIf(has("pdfinfo"))("is one page of the sheet's size (oracle: pdfinfo)", () => {
    const info = says("pdfinfo", (f) => [f], bytes);
    expect(info).toMatch(/Pages:\s+1\n/);
    expect(info).toMatch(/Page size:\s+907.087 x 1275.59 pts/);
    expect(info).toMatch(/PDF version:\s+1.6\n/);
  });

  it("is refused for stock that is not printed", async () => {
    await expect(print(boardSheet())).rejects.toThrow("greyboard is not printed");
  });
});

describe("artwork", () => {
  it("a ring in tiles is clipped once, and what lies on it by its own outline", async () => {
    const prepared = card({ raster: flat("cmyk", [255, 0, 0, 0]) });
    const [layer] = prepared.layers;
    if (layer?.kind !== "raster") throw new Error("the card is one picture");
    const reach = [drawn([0, 0], [0, 30], [40, 30], [40, 0])];
    const tiles = [0, 1, 2, 3].map((i) => ({ ...layer, box: rect(10 * i, 0, 10, 30), clip: structuredClone(reach) }));
    const top = { ...layer, clip: [drawn([5, 5], [5, 25], [35, 25], [35, 5])] };
    const free = { ...layer, box: rect(1, 1, 1, 1) };
    const [content = ""] = await forms(await print(alone({ ...prepared, layers: [...tiles, top, free] })));
    const steps = content.split("\n").filter((line) => /^(q|Q|W n|.* Do)$/.test(line));
    const drawnOnce = ["q", "/L1 Do", "Q"];
    const ring = ["q", "W n", ...tiles.flatMap(() => drawnOnce), "Q"];
    expect(steps).toEqual([...ring, "q", "W n", ...drawnOnce, "Q", "q", ...drawnOnce, "Q"]);
  });

  it("is embedded once however often it is placed, whatever object carries it", async () => {
    const sheet = sheetOf(
      Array.from({ length: 12 }, (_, i) =>
        placed(i + 1, structuredClone(wall()), 0, [20 + 70 * (i % 4), 440 - 70 * Math.floor(i / 4)], []),
      ),
    );
    const many = await print(sheet);
    const one = await print({ ...sheet, placed: sheet.placed.slice(0, 1) });
    expect(await images(many)).toHaveLength(1);
    expect(many.length - one.length).toBeLessThan(1500);
  });

  it.runIf(has("pdfimages"))("has the pixels that were handed over (oracle: pdfimages)", () => {
    const list = says("pdfimages", (f) => ["-list", f], bytes);
    // Page, number, type, width, height, colour, components, bits.
    expect(list).toMatch(/image\s+66\s+57\s+cmyk\s+4\s+8/);
  });

  it.runIf(has("gs"))("keeps its inks to the bit (oracle: Ghostscript tiffsep)", async () => {
    const inks = [200, 30, 0, 90];
    const made = plates(await print(alone(card({ raster: flat("cmyk", inks) }))), 72);
    const at = ["Cyan", "Magenta", "Yellow", "Black"].map((name) => sampleAt(made[name] as Pixels, 72, 40, 45)[0]);
    expect(at).toEqual(inks.map((ink) => 255 - ink));
  });

  it("stands as the drawing has it at every turn", async () => {
    // Top-left quarter black: where it lands says how the piece lies.
    const quarter = painted("quarter", "grey", [40, 30], (x, y) => [x < 20 && y < 15 ? 0 : 255]);
    for (const [turn, e, f, x, y] of [
      [0, 20, 60, 25, 55],
      [90, 20, 20, 25, 25],
      [180, 60, 30, 55, 35],
      [270, 60, 60, 55, 55],
    ] as const) {
      const one = {
        ...placed(1, card({ raster: quarter }), turn, [0, 0], []),
        matrix: matrixOf({ degrees: turn, e: mm(e), f: mm(f) }),
      };
      const { data, width } = await renderPage(await print({ ...alone(card({ raster: quarter })), placed: [one] }), 0, {
        width: 320,
        height: 320,
      });
      const at = (px: number, py: number) => data[((319 - py * 4) * width + px * 4) * 4];
      expect([turn, at(x, y), at(80 - x, 80 - y)]).toEqual([turn, 0, 255]);
    }
  });

  it("passes a JPEG through byte for byte, and tells of inverted CMYK", async () => {
    const pixels = Buffer.from(Array.from({ length: 64 * 48 }, () => [200, 30, 0, 90]).flat());
    const jpeg = await sharp(pixels, { raw: { width: 64, height: 48, channels: 4 } })
      .pipelineColourspace("cmyk")
      .toColourspace("cmyk")
      .jpeg({ quality: 100, chromaSubsampling: "4:4:4" })
      .toBuffer();
    const raster: Raster = {
      id: "jpeg",
      width: 64,
      height: 48,
      space: "cmyk",
      data: { kind: "jpeg", bytes: jpeg, inverted: true },
    };
    const made = await print(alone(card({ raster })));
    const [image] = await images(made);
    expect(Buffer.from(image?.getContents() ?? []).equals(jpeg)).toBe(true);
    expect(image?.dict.get(PDFName.of("Decode"))?.toString()).toBe("[ 1 0 1 0 1 0 1 0 ]");
  });

  it("holds one profile object for one profile, and none beside the printing condition's own", async () => {
    const cmykProfile = outputProfile(press())?.bytes;
    const rgbProfile = outputProfile(press("rgb"))?.bytes;
    if (!cmykProfile || !rgbProfile) throw new Error("profiles are bundled");
    const pieces = [
      card({ raster: flat("cmyk", [9, 9, 9, 9], cmykProfile) }),
      card({ raster: flat("rgb", [9, 9, 9], rgbProfile) }),
      card({ raster: flat("rgb", [8, 8, 8], rgbProfile) }),
    ];
    const made = await print(sheetOf(pieces.map((p, i) => placed(i + 1, p, 0, [20, 100 + 50 * i], []))));
    const spaces = (await images(made)).map((i) => i.dict.lookup(PDFName.of("ColorSpace"))?.toString());
    expect(spaces[0]).toBe("/DeviceCMYK");
    expect(spaces[1]).toMatch(/^\[ \/ICCBased \d+ 0 R \]$/);
    expect(spaces[2]).toBe(spaces[1]);
  });

  it("never is device RGB under a CMYK condition (checklist i)", async () => {
    const [image] = await images(await print(alone(card({ raster: flat("rgb", [255, 0, 0]) }))));
    expect(image?.dict.lookup(PDFName.of("ColorSpace"))?.toString()).toContain("/CalRGB");
  });

  it("refuses pixels that do not fill their picture", async () => {
    const raster = { ...flat("grey", [1]), width: 9 };
    await expect(print(alone(card({ raster })))).rejects.toThrow("48 bytes for 9 x 6 x 1");
  });
});

describe("pages", () => {
  /** Where the page's black quarter and its dark half are seen on the card, as fractions of the card from its top-left. */
  const seen = async (page: Page): Promise<string> => {
    const { data } = await renderPage(await print(alone(card({ page }))), 0, { width: 320, height: 320 });
    const kind = (fx: number, fy: number): string => {
      const at = (Math.round(320 - (60 - 30 * fy) * 4) * 320 + Math.round((20 + 40 * fx) * 4)) * 4;
      const [r = 0, g = 0, b = 0] = data.subarray(at, at + 3);
      return r > 240 && g > 240 ? "." : b > r + 30 ? "b" : "k";
    };
    return [kind(0.25, 0.25), kind(0.75, 0.25), "/", kind(0.25, 0.75), kind(0.75, 0.75)].join("");
  };

  it("fill their box as they are", async () => {
    expect(await seen(await drawnPage())).toBe("bk/b.");
  });

  it.each([
    [90, "bb/.k"],
    [180, ".b/kb"],
    [270, "k./bb"],
  ])("obey /Rotate %d (ISO 32000, page objects)", async (rotate, wanted) => {
    expect(await seen(await drawnPage({ rotate }))).toBe(wanted);
  });

  it("show their CropBox, wherever their MediaBox begins (ISO 32000, page boundaries)", async () => {
    expect(await seen(await drawnPage({ media: [-100, -100, 100, 100], crop: [0, 0, 100, 100] }))).toBe("bk/b.");
    expect(await seen(await drawnPage({ media: [-60, 0, 60, 100] }))).toBe(".b/.b");
    expect(await seen(await drawnPage({ media: [100, 100, 0, 0], crop: [100, 100, 50, 0] }))).toBe("kk/..");
  });

  it("look as PDFium draws them alone, mirrored in nothing", async () => {
    const page = await drawnPage({ rotate: 90, media: [-10, -30, 100, 100], crop: [-5, 0, 80, 95] });
    const own = await renderPage(page.bytes, 0, { width: 160, height: 120 });
    const placedPage = await renderPage(await print(alone(card({ page }))), 0, {
      width: 320,
      height: 320,
      region: { x: 80, y: 80, width: 160, height: 120 },
    });
    const off = own.data.filter((v, i) => Math.abs(v - (placedPage.data[i] ?? 0)) > 40).length;
    // Only pixels on an edge may differ: three edges of at most 160 pixels, three channels each.
    expect(off).toBeLessThanOrEqual(3 * 160 * 3);
  });

  it("keep hidden layers hidden, and make every layer known (ISO 32000, optional content)", async () => {
    const document = await PDFDocument.create({ updateMetadata: false });
    const page = document.addPage([100, 100]);
    page.drawRectangle({ x: 0, y: 0, width: 100, height: 100, color: cmyk(0, 0, 0, 0.2) });
    const { context } = document;
    const layer = context.register(context.obj({ Type: "OCG", Name: PDFString.of("notes") }));
    document.catalog.set(
      PDFName.of("OCProperties"),
      context.obj({ OCGs: [layer], D: { OFF: [layer], Order: [layer] } }),
    );
    page.node.normalizedEntries().Resources.set(PDFName.of("Properties"), context.obj({ MC0: layer }));
    page.node.addContentStream(context.register(context.flateStream("/OC /MC0 BDC 0 0 0 1 k 0 0 100 100 re f EMC")));
    const hidden = { id: "layers", bytes: await document.save({ useObjectStreams: false }), index: 0 };
    const made = await print(alone(card({ page: hidden })));
    const { data } = await renderPage(made, 0, { width: 320, height: 320 });
    expect(data[(160 * 320 + 160) * 4]).toBeGreaterThan(180);
    const { catalog } = await PDFDocument.load(made, { updateMetadata: false });
    const properties = catalog.lookup(PDFName.of("OCProperties"), PDFDict);
    expect(properties.toString()).toMatch(/OCGs \[ (\d+ 0 R) \][\s\S]*Order \[ \1 \][\s\S]*OFF \[ \1 \]/);
    if (has("pdftoppm")) expect(sampleAt(poppler(made, 100), 100, 40, 45)[0]).toBeGreaterThan(180);
  });

  it("bring their transparency group along, and the sheet its blending space", async () => {
    const source = await PDFDocument.load((await drawnPage()).bytes, { updateMetadata: false });
    source
      .getPage(0)
      .node.set(PDFName.of("Group"), source.context.obj({ S: "Transparency", CS: "DeviceCMYK", I: true }));
    const page = { id: "group", bytes: await source.save({ useObjectStreams: false }), index: 0 };
    const text = Buffer.from(await print(alone(card({ page })))).toString("latin1");
    expect(text.match(/\/Transparency/g)).toHaveLength(2);
    expect(Buffer.from(await print(alone(card({ page: await drawnPage() })))).includes("/Transparency")).toBe(false);
  });
});

describe("what prints and what does not", () => {
  it("never is a line: a sheet without lines has the very same bytes", async () => {
    expect(harbour.lines.length).toBeGreaterThan(10);
    expect(Buffer.from(await print({ ...harbour, lines: [] })).equals(bytes)).toBe(true);
  });

  it.runIf(has("pdftoppm"))("leaves paper white under lines that cross it (oracle: poppler)", async () => {
    const bare = sheetOf([{ ...placed(1, { ...wall(), layers: [] }, 0, [30, 420], []) }], { lines: harbour.lines });
    const ppi = 100;
    const seen = poppler(await print(bare), ppi);
    const dark = bare.lines
      .filter((l) => l.placed === 1)
      .flatMap((l) => l.points)
      .filter((p) => (sampleAt(seen, ppi, p.x / 1000, p.y / 1000)[0] ?? 0) < 255);
    expect(dark).toEqual([]);
  });

  it.runIf(has("gs"))("marks stand in black alone, on their places (oracle: Ghostscript tiffsep)", () => {
    const ppi = 100;
    const made = plates(bytes, ppi);
    for (const { at } of harbour.marks) {
      const inks = ["Cyan", "Magenta", "Yellow", "Black"].map(
        (p) => sampleAt(made[p] as Pixels, ppi, at.x / 1000, at.y / 1000)[0],
      );
      expect(inks).toEqual([255, 255, 255, 0]);
      const beside = sampleAt(made["Black"] as Pixels, ppi, at.x / 1000 + 3, at.y / 1000);
      expect(beside).toEqual([255]);
    }
  });

  it.runIf(has("gs")).each(["cmyk", "rgb", "grey"] as const)(
    "on a press of %s marks, code, slug and dark letters are one ink, and no other plate has any (oracle: tiffsep)",
    async (colour) => {
      const letters = words("OOOO", 10, 30, 30, await inkOf("#101010", press(colour)));
      const [code, slug] = harbour.inks;
      const sheet = sheetOf([placed(1, { ...wall(), layers: [] }, 0, [20, 80], [], [letters])], {
        stock: stock(press(colour)),
        width: harbour.width,
        height: harbour.height,
        inks: code && slug ? [code, slug] : [],
      });
      const made = plates(await writePrint(sheet, { title: "One ink", profile: outputProfile(press(colour)) }), 100);
      const most = (plate: string): number =>
        255 - (made[plate]?.data ?? new Uint8Array()).reduce((least, value) => Math.min(least, value), 255);
      expect(["Cyan", "Magenta", "Yellow"].map(most)).toEqual([0, 0, 0]);
      expect(most("Black")).toBeGreaterThan(230);
    },
  );

  it.runIf(has("gs"))(
    "black letters are black ink alone and leave the colours under them (common practice, no source; oracle: tiffsep)",
    async () => {
      const raster = flat("cmyk", [100, 0, 0, 0]);
      const ppi = 300;
      // A full stop of 60 points, as wide as a few millimetres: its middle is all ink.
      const stop = words("I", 10, 25, 60);
      const sheet = alone(card({ raster }));
      const made = plates(
        await print({ ...sheet, placed: [{ ...(sheet.placed[0] as (typeof sheet.placed)[0]), texts: [stop] }] }),
        ppi,
      );
      const middle = [
        20 + (stop.box.x + stop.box.width / 2) / 1000,
        60 - (stop.box.y + stop.box.height * 0.7) / 1000,
      ] as const;
      expect(sampleAt(made["Black"] as Pixels, ppi, ...middle)).toEqual([0]);
      expect(sampleAt(made["Cyan"] as Pixels, ppi, ...middle)).toEqual([155]);
    },
  );

  it("draws quadratic curves as they are: half as high as their handle", async () => {
    const hill = { ...words("x", 0, 0, 1), outlines: "M 0 30000 Q 20000 -10000 40000 30000 Z" };
    const bare = { ...card({ raster: flat("grey", [0]) }), layers: [] };
    const made = await print({ ...alone(bare), placed: [placed(1, bare, 0, [20, 60], [], [hill])] });
    const { data } = await renderPage(made, 0, { width: 800, height: 800 });
    const inkAt = (x: number, y: number) => (data[((799 - y * 10) * 800 + x * 10) * 4] ?? 255) < 128;
    // From 30 mm at its foot to 50 mm at its top, and three quarters of that a quarter of the way along.
    expect([inkAt(40, 49), inkAt(40, 51), inkAt(30, 44), inkAt(30, 46)]).toEqual([true, false, true, false]);
  });

  it("draws a disc round and of its size", async () => {
    const { data } = await renderPage(await print(sheetOf([], { marks: harbour.marks.slice(0, 1), inks: [] })), 0, {
      width: 3200,
      height: 4500,
    });
    let inked = 0;
    for (let i = 0; i < data.length; i += 4) inked += 1 - (data[i] ?? 255) / 255;
    // 5 mm across, 10 pixels to the millimetre; black ink is not quite black on screen.
    expect(inked / (Math.PI * 25 * 25)).toBeGreaterThan(0.97 * (1 - (data[(4349 * 3200 + 120) * 4] ?? 0) / 255));
    expect(inked / (Math.PI * 25 * 25)).toBeLessThan(1.01);
  });

  it("shows a layer within its clip only, openings left out", async () => {
    const full = card({ raster: flat("grey", [0]) });
    const clip = [
      drawn([10, 20], [30, 20], [30, 10], [10, 10]),
      [...drawn([15, 18], [25, 18], [25, 12], [15, 12])].reverse(),
    ];
    const clipped = { ...full, layers: full.layers.map((l) => ({ ...l, clip })) };
    const { data } = await renderPage(await print(alone(clipped)), 0, { width: 320, height: 320 });
    const at = (x: number, y: number) => data[((319 - Math.round((60 - y) * 4)) * 320 + (20 + x) * 4) * 4];
    expect([at(12, 15), at(20, 15), at(5, 15), at(20, 5)]).toEqual([0, 255, 255, 255]);
  });

  it("embeds a picture once even where two pieces crop it differently", async () => {
    const one = card({ raster: flat("grey", [9]) });
    const other = { ...one, layers: one.layers.map((l) => ({ ...l, box: rect(-5, -5, 60, 60) })) };
    const made = await print(sheetOf([placed(1, one, 0, [20, 100], []), placed(2, other, 0, [100, 100], [])]));
    expect(await images(made)).toHaveLength(1);
  });

  it.runIf(has("gs"))("prints a grey on a CMYK press with black ink alone (oracle: tiffsep)", async () => {
    const box = "M 60000 60000 L 70000 60000 L 70000 70000 L 60000 70000 Z";
    const made = plates(
      await print(sheetOf([], { marks: [], inks: [{ outlines: box, ink: { space: "grey", g: 0.4 } }] })),
      72,
    );
    const at = ["Cyan", "Magenta", "Yellow", "Black"].map((name) => sampleAt(made[name] as Pixels, 72, 65, 65)[0]);
    expect(at).toEqual([255, 255, 255, 102]);
  });

  it("refuses a coloured ink of another press: prepress turns colours", async () => {
    const red = words("x", 5, 10, 12, { space: "rgb", r: 1, g: 0, b: 0 });
    const sheet = alone(wall());
    await expect(print({ ...sheet, placed: [placed(1, wall(), 0, [5, 60], [], [red])] })).rejects.toThrow(
      "an ink of rgb reached a cmyk press",
    );
  });

  it.each(["rgb", "grey"] as const)("a %s press gets its own device colours", async (colour) => {
    const ink =
      colour === "rgb" ? ({ space: "rgb", r: 0.2, g: 0.4, b: 0.6 } as const) : ({ space: "grey", g: 0.5 } as const);
    const raster = colour === "rgb" ? flat("rgb", [10, 200, 30]) : flat("grey", [77]);
    const sheet = {
      ...harbour,
      stock: stock(press(colour)),
      placed: [placed(1, card({ raster }), 0, [50, 300], [], [words("Ahoy", 5, 20, 20, ink)])],
    };
    const made = await writePrint(sheet, { title: "other", profile: outputProfile(press(colour)) });
    const { data } = await renderPage(made, 0, { width: 640, height: 900 });
    const at = (x: number, y: number) => [...data.subarray(((900 - y * 2) * 640 + x * 2) * 4).subarray(0, 3)];
    const wanted = colour === "rgb" ? [10, 200, 30] : [77, 77, 77];
    for (const [i, v] of at(85, 275).entries()) expect(Math.abs(v - (wanted[i] ?? 0))).toBeLessThanOrEqual(3);
    expect(at(12, 15)).toEqual([0, 0, 0]);
    expect(Buffer.from(made).includes("GTS_PDFXVersion")).toBe(false);
  });

  it.runIf(has("pdftoppm") && has("mutool") && has("gs"))(
    "poppler, mutool, Ghostscript and PDFium put ink in the same places",
    async () => {
      const ppi = 72;
      const [a, b, d] = [poppler(bytes, ppi), mutool(bytes, ppi), ghostscript(bytes, ppi)];
      // Ghostscript rounds the page's size to pixels, poppler rounds it up.
      expect([a.width - d.width, a.height - d.height].every((more) => more === 0 || more === 1)).toBe(true);
      const c = await renderPage(bytes, 0, { width: a.width, height: a.height });
      const inked = (p: { data: Uint8Array }, channels: number, i: number): boolean =>
        (p.data[i * channels] ?? 255) < 200 || (p.data[i * channels + 1] ?? 255) < 200;
      let differ = 0;
      let all = 0;
      for (let i = 0; i < a.width * a.height; i++) {
        const there = Math.floor(i / a.width) * d.width + Math.min(d.width - 1, i % a.width);
        const found = [inked(a, 3, i), inked(b, 3, i), inked(c, 4, i), inked(d, 3, there)];
        if (found.includes(true)) all++;
        if (found.includes(true) && found.includes(false)) differ++;
      }
      expect(all).toBeGreaterThan(20_000);
      // Renderers disagree about pixels that an edge only touches: some 1 900 pixels of edges here.
      expect(differ / all).toBeLessThan(0.05);
    },
  );
});
