import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { deflateSync } from "node:zlib";
import type { Layer } from "@kitforme/prepress";
import { prepare } from "@kitforme/prepress";
import {
  PDFArray,
  PDFDict,
  PDFDocument,
  type PDFObject,
  type PDFPageLeaf,
  PDFName,
  PDFRawStream,
  PDFString,
  decodePDFRawStream,
} from "pdf-lib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { has, inFolder } from "../support/oracle.ts";
import { file, page, piece, press, PT, rasterOf, ringAt, square, valuesAt } from "./artwork-samples.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Rectangle in mm from the page's lower left corner. */
const fill = (x: number, y: number, width: number, height: number): string =>
  `${PT(x)} ${PT(y)} ${PT(width)} ${PT(height)} re f`;
const all = fill(0, 0, 20, 20);

const cmyk = press("cmyk");
const of = (bytes: Uint8Array) => piece(file("pdf", bytes));
const rules = async (bytes: Uint8Array, on = cmyk): Promise<string[]> =>
  (await prepare(of(bytes), on)).findings.map(({ level, rule }) => `${level} ${rule}`);

/** Content and dictionary of a page that stayed vectors. */
const keptIn = async (layers: readonly Layer[] | undefined): Promise<{ content: string; node: PDFPageLeaf }> => {
  const layer = layers?.at(-1);
  if (layer?.kind !== "page") throw new Error(`wanted a page and got ${layer?.kind}`);
  const { node } = (await PDFDocument.load(layer.page.bytes, { updateMetadata: false })).getPage(layer.page.index);
  const stream = node.lookup(name("Contents"));
  if (!(stream instanceof PDFRawStream)) throw new Error("the page has no content of its own");
  return { content: Buffer.from(decodePDFRawStream(stream).decode()).toString("latin1"), node };
};

describe("a page that can stay vectors", () => {
  it("keeps its CMYK as it is written", async () => {
    const { value, findings } = await prepare(
      of(await page(`.8 .2 0 .4 k ${all} 0 0 0 1 k ${fill(5, 5, 5, 5)}`)),
      cmyk,
    );
    expect(findings).toEqual([]);
    const { content } = await keptIn(value?.layers);
    expect(content).toContain(".8 .2 0 .4 k");
    expect(valuesAt(value?.layers ?? [], 10, 10)).toBe("page");
  });

  it("lies on a ring of exactly its own inks", async () => {
    const { value } = await prepare(of(await page(`.8 .2 0 .4 k ${all}`)), cmyk);
    expect(valuesAt(value?.layers ?? [], 21.5, 10)).toEqual([204, 51, 0, 102]);
    const grey = await prepare(of(await page(`.4 g ${all}`)), cmyk);
    expect(valuesAt(grey.value?.layers ?? [], 21.5, 10)).toEqual([0, 0, 0, 153]);
    const black = await prepare(of(await page(all)), cmyk);
    expect(valuesAt(black.value?.layers ?? [], 21.5, 10)).toEqual([0, 0, 0, 255]);
  });

  it("gets its solid RGB in the press's inks, black as black alone, ring and page alike", async () => {
    const { value } = await prepare(
      of(await page(`0 0 1 rg ${fill(10, 0, 10, 20)} q /DeviceRGB cs 0 0 0 scn ${fill(0, 0, 10, 20)} Q`)),
      cmyk,
    );
    const { content } = await keptIn(value?.layers);
    expect(content).not.toMatch(/\brg\b|DeviceRGB/);
    expect(content).toContain("/DeviceCMYK cs 0 0 0 1 k");
    const written = /^([\d.]+) ([\d.]+) ([\d.]+) ([\d.]+) k/
      .exec(content)
      ?.slice(1)
      .map((share) => Math.round(Number(share) * 255));
    expect(valuesAt(value?.layers ?? [], 21.5, 10)).toEqual(written);
    expect(valuesAt(value?.layers ?? [], -1.5, 10)).toEqual([0, 0, 0, 255]);
  });

  it("is not drawn twice: what lies under it is a band at the outline", async () => {
    // The page is 30 mm wide, its square of 20 mm lies on the piece, the rest is bare.
    const bytes = await page(`.8 .2 0 .4 k ${fill(10 / 3, 10 / 3, 40 / 3, 40 / 3)}`);
    const place = { x: -5000, y: -5000, width: 30_000, height: 30_000 };
    const { value } = await prepare(piece(file("pdf", bytes, place)), cmyk);
    expect(value?.bleed).toMatchObject({ least: 2000, own: 0 });
    expect(ringAt(value?.layers ?? [], 10, 10)).toBeUndefined();
    for (const x of [-1.5, 0.5]) expect(ringAt(value?.layers ?? [], x, 10)).toEqual([204, 51, 0, 102]);
  });

  it("needs no ring where it runs past the bleed", async () => {
    const bytes = await page(`.8 .2 0 .4 k ${all}`);
    const place = { x: -5000, y: -5000, width: 30_000, height: 30_000 };
    const { value } = await prepare(piece(file("pdf", bytes, place)), cmyk);
    expect(value?.layers.map(({ kind }) => kind)).toEqual(["page"]);
    expect(value?.bleed).toMatchObject({ made: 0, least: 2000 });
  });

  it("fills its box with what a viewer shows: CropBox, /Rotate, an origin elsewhere", async () => {
    const bytes = await page(
      `1 0 0 0 k -99 -99 400 400 re f 0 1 0 0 k ${PT(2)} ${PT(3)} ${PT(4)} ${PT(5)} re f`,
      {},
      { MediaBox: [-20, -10, 200, 200], CropBox: [PT(12), PT(23), PT(2), PT(3)], Rotate: 90 },
    );
    // CropBox of 10 x 20 mm with a magenta 4 x 5 mm in its lower left; turned clockwise it lies in the upper left, 5 x 4 mm.
    const place = { x: 0, y: 0, width: 20_000, height: 10_000 };
    const parts = [{ outer: square(0, 0, 10), openings: [] }];
    const { value, findings } = await prepare(piece(file("pdf", bytes, place), { parts }), cmyk);
    expect(findings).toEqual([]);
    const { node } = await keptIn(value?.layers);
    const { x, y, width, height } = node.lookup(name("MediaBox"), PDFArray).asRectangle();
    for (const [at, millimetres] of [2, 3, 10, 20].entries())
      expect([x, y, width, height][at]).toBeCloseTo(PT(millimetres), 6);
    expect(ringAt(value?.layers ?? [], -1.5, 3)).toEqual([0, 255, 0, 0]);
    expect(ringAt(value?.layers ?? [], 3, -1.5)).toEqual([0, 255, 0, 0]);
    expect(ringAt(value?.layers ?? [], -1.5, 6)).toEqual([255, 0, 0, 0]);
    expect(ringAt(value?.layers ?? [], 7, -1.5)).toEqual([255, 0, 0, 0]);
  });

  it("mixes its transparency in CMYK, apart from the ring below", async () => {
    const half = { ExtGState: { Half: { ca: 0.5 } } };
    const bytes = await page(`1 0 0 0 k ${all} /Half gs 0 1 0 0 k ${all}`, half);
    const { value } = await prepare(of(bytes), cmyk);
    const { node } = await keptIn(value?.layers);
    expect(node.lookup(name("Group"), PDFDict).toString()).toMatch(
      /\/S \/Transparency[^]*\/I true[^]*\/CS \/DeviceCMYK/,
    );
    // Half of each, as CMYK mixes: half cyan stays, half magenta comes.
    const ring = valuesAt(value?.layers ?? [], 21.5, 10) as number[];
    expect(Math.abs((ring[0] as number) - 128)).toBeLessThanOrEqual(1);
    expect(Math.abs((ring[1] as number) - 128)).toBeLessThanOrEqual(1);
    expect(ring.slice(2)).toEqual([0, 0]);
  });

  it("loses a group it does not need", async () => {
    const bytes = await page(`1 0 0 0 k ${all}`, {}, { Group: { Type: "Group", S: "Transparency", CS: "DeviceRGB" } });
    expect((await keptIn((await prepare(of(bytes), cmyk)).value?.layers)).node.has(name("Group"))).toBe(false);
  });

  it("gets its gradients of RGB in the press's inks", async () => {
    const line = { FunctionType: 2, Domain: [0, 1], C0: [1, 0, 0], C1: [0, 0, 1], N: 1 };
    const shading = { ShadingType: 2, ColorSpace: "DeviceRGB", Coords: [0, 0, PT(20), 0], Function: line };
    const { value, findings } = await prepare(of(await page("/S sh", { Shading: { S: shading } })), cmyk);
    expect(findings).toEqual([]);
    const { node } = await keptIn(value?.layers);
    const made = node.Resources()?.lookup(name("Shading"), PDFDict).lookup(name("S"), PDFDict);
    expect(made?.lookup(name("ColorSpace"))).toBe(name("DeviceCMYK"));
  });

  it("is the same bytes every time", async () => {
    const bytes = await page(`.8 .2 0 .4 k ${all} 1 0 0 rg ${fill(2, 2, 4, 4)}`);
    const [a, b] = await Promise.all([prepare(of(bytes), cmyk), prepare(of(bytes.slice()), cmyk)]);
    expect(a).toEqual(b);
  });
});

describe("inks of a page drawn by a renderer of RGB", () => {
  /** A page with a CMYK picture, a CMYK shading, an RGB picture and a pattern, one in each quarter. */
  const mixed = async (): Promise<Uint8Array> =>
    page("", {}, {}, async (document) => {
      const { context } = document;
      const { node } = document.getPage(0);
      const image = (space: string, data: Uint8Array) =>
        context.register(
          context.stream(data, {
            Type: "XObject",
            Subtype: "Image",
            Width: 1,
            Height: 1,
            ColorSpace: space,
            BitsPerComponent: 8,
          }),
        );
      const tile = context.register(
        context.stream(`${PT(5)} 0 0 ${PT(5)} 0 0 cm 0 .6 0 0 k 0 0 1 1 re f`, {
          Type: "Pattern",
          PatternType: 1,
          PaintType: 1,
          TilingType: 1,
          BBox: [0, 0, PT(5), PT(5)],
          XStep: PT(5),
          YStep: PT(5),
          Resources: {},
        }),
      );
      const shading = {
        ShadingType: 2,
        ColorSpace: "DeviceCMYK",
        Coords: [0, 0, PT(20), 0],
        Extend: [true, true],
        Function: { FunctionType: 2, Domain: [0, 1], C0: [0.3, 0, 0.5, 0.1], C1: [0.3, 0, 0.5, 0.1], N: 1 },
      };
      const resources = {
        XObject: {
          C: image("DeviceCMYK", Uint8Array.of(10, 120, 200, 60)),
          R: image("DeviceRGB", Uint8Array.of(200, 30, 60)),
        },
        Shading: { S: shading },
        Pattern: { P: tile },
      };
      for (const [key, value] of Object.entries(resources))
        node.Resources()?.set(name(key), context.obj(value as never) as PDFObject);
      const half = PT(10);
      const program = [
        `q ${half} 0 0 ${half} 0 ${half} cm /C Do Q`,
        `q ${half} 0 0 ${half} ${half} ${half} cm /R Do Q`,
        `q 0 0 ${half} ${half} re W n /S sh Q`,
        `/Pattern cs /P scn ${half} 0 ${half} ${half} re f`,
      ].join("\n");
      node.set(name("Contents"), context.register(context.stream(program)));
    });

  it("are those that are written, in pictures, shadings and patterns", async () => {
    const { value, findings } = await prepare(of(await mixed()), cmyk);
    expect(findings).toEqual([]);
    const near = (at: readonly [number, number], inks: readonly number[], by: number): void => {
      const found = ringAt(value?.layers ?? [], ...at) as number[];
      for (const [ink, wanted] of inks.entries())
        expect(Math.abs((found[ink] as number) - wanted)).toBeLessThanOrEqual(by);
    };
    near([-1.5, 5], [10, 120, 200, 60], 1);
    near([-1.5, 15], [77, 0, 128, 26], 2);
    near([21.5, 15], [0, 153, 0, 0], 1);
    // As a picture file of that colour comes out.
    const flat = { create: { width: 200, height: 200, channels: 3, background: "#c81e3c" } } as const;
    const picture = (await prepare(piece(file("png", await sharp(flat).png().toBuffer())), cmyk)).value?.layers ?? [];
    const red = valuesAt(picture, 10, 10) as number[];
    // By a table, where a RIP asks the profile itself.
    near([21.5, 5], red, 6);
  });

  it("of a spot named for a tool are reported: a die line in the artwork would be printed", async () => {
    const named = (spot: string) =>
      page("", {}, {}, (document) => {
        const { context } = document;
        const { node } = document.getPage(0);
        const tint = { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: [0, 1, 0, 0], N: 1 };
        const spaces = { A: ["Separation", name(spot), "DeviceCMYK", tint] };
        node.Resources()?.set(name("ColorSpace"), context.obj(spaces as never) as PDFObject);
        node.set(name("Contents"), context.register(context.stream("/A CS 1 SCN 0.5 w 1 1 18 18 re S")));
      });
    const rulesOf = async (spot: string) => (await prepare(of(await named(spot)), cmyk)).findings;
    expect((await rulesOf("Stanzkontur")).find((f) => f.rule === "artwork-tool-spot")).toMatchObject({
      level: "warning",
      message: expect.stringContaining('"Stanzkontur"'),
    });
    expect((await rulesOf("Rose")).map((f) => f.rule)).not.toContain("artwork-tool-spot");
  });

  it("are those that stand for spot colours, by formula, in parts or by program", async () => {
    const line = (c1: readonly number[]) => ({ FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0, 0], C1: c1, N: 1 });
    const parts = { FunctionType: 3, Domain: [0, 1], Functions: [line([0, 0.8, 0, 0])], Bounds: [], Encode: [0, 1] };
    const bytes = await page("", {}, {}, (document) => {
      const { context } = document;
      const { node } = document.getPage(0);
      const program = context.register(
        context.stream("{ dup 0.2 mul exch dup 0 mul exch dup 0.6 mul exch 0.4 mul }", {
          FunctionType: 4,
          Domain: [0, 1],
          Range: [0, 1, 0, 1, 0, 1, 0, 1],
        }),
      );
      const spaces = {
        A: ["Separation", "Sea", "DeviceCMYK", line([1, 0.4, 0, 0.2])],
        B: ["Separation", "Rose", "DeviceCMYK", parts],
        C: ["DeviceN", ["Moss"], "DeviceCMYK", program],
      };
      node.Resources()?.set(name("ColorSpace"), context.obj(spaces as never) as PDFObject);
      const content = `/A cs .5 scn ${fill(0, 0, 10, 10)} /B cs 1 scn ${fill(0, 10, 10, 10)} /C cs 1 scn ${fill(10, 0, 10, 20)}`;
      node.set(name("Contents"), context.register(context.stream(content)));
    });
    const { value, findings } = await prepare(of(bytes), cmyk);
    expect(findings).toMatchObject([{ level: "note", rule: "artwork-spots" }]);
    expect(findings[0]?.message).toContain('3 spot colours are used: "Moss", "Rose", "Sea"');
    expect(value?.layers.at(-1)?.kind).toBe("page");
    for (const [x, y, inks] of [
      [-1.5, 15, [128, 51, 0, 26]],
      [-1.5, 5, [0, 204, 0, 0]],
      [21.5, 10, [51, 0, 153, 102]],
    ] as const) {
      const found = ringAt(value?.layers ?? [], x, y) as number[];
      for (const [at, ink] of inks.entries()) expect(Math.abs((found[at] as number) - ink)).toBeLessThanOrEqual(1);
    }
  });

  it.runIf(has("gs"))("agree with Ghostscript's CMYK", async () => {
    const bytes = await page(
      `.8 .2 0 .4 k ${all} 0 .3 .9 .2 k ${fill(0, 0, 5, 20)} .25 g ${fill(5, 0, 15, 4)} 1 0 0 0 K 12 w 0 ${PT(10)} m ${PT(20)} ${PT(10)} l S`,
    );
    const judged = inFolder((at) => {
      writeFileSync(at("page.pdf"), bytes);
      const how = ["-q", "-dBATCH", "-dNOPAUSE", "-dSAFER", "-sDEVICE=tiff32nc", "-r254", "-sCompression=none"];
      execFileSync("gs", [...how, "-dUseFastColor=true", `-sOutputFile=${at("page.tif")}`, at("page.pdf")]);
      return readFileSync(at("page.tif"));
    });
    const { data, info } = await sharp(judged)
      .pipelineColourspace("cmyk")
      .toColourspace("cmyk")
      .raw()
      .toBuffer({ resolveWithObject: true });
    const { value } = await prepare(of(bytes), cmyk);
    for (const [x, y] of [
      [0.3, 5],
      [19.7, 5],
      [19.7, 18.5],
      [19.7, 10],
      [10, 0.3],
      [10, 19.7],
    ] as const) {
      const at = (Math.floor(y * 10) * info.width + Math.floor(x * 10)) * 4;
      const found = ringAt(value?.layers ?? [], x, y) as number[];
      for (let ink = 0; ink < 4; ink++)
        expect(Math.abs((found[ink] as number) - (data[at + ink] as number))).toBeLessThanOrEqual(1);
    }
  });
});

describe("a page that must be rasterised", () => {
  const layer = (document: PDFDocument, title: string) =>
    document.context.register(document.context.obj({ Type: "OCG", Name: PDFString.of(title) }));
  const layered = (hide: boolean, usage?: object): Promise<Uint8Array> =>
    page(`1 0 0 0 k ${all} /OC /L BDC 0 1 0 0 k ${all} EMC`, {}, {}, (document) => {
      const { context } = document;
      const one = layer(document, "Notes");
      if (usage) context.lookup(one, PDFDict).set(name("Usage"), context.obj(usage as never) as PDFObject);
      document
        .getPage(0)
        .node.Resources()
        ?.set(name("Properties"), context.obj({ L: one }));
      const config = hide ? { OFF: [one] } : {};
      document.catalog.set(name("OCProperties"), context.obj({ OCGs: [one], D: config } as never) as PDFObject);
    });

  it("not because of hidden layers: they are taken out, in the page's own inks", async () => {
    const { value, findings } = await prepare(of(await layered(true)), cmyk);
    expect(findings.map(({ level, rule }) => `${level} ${rule}`)).toEqual(["warning artwork-hidden-layers"]);
    expect(findings[0]?.message).toContain("Notes");
    expect((await keptIn(value?.layers)).content).toMatch(/0 1 0 0 k [\d.\s]+ re n EMC/);
    expect(ringAt(value?.layers ?? [], 21.5, 10)).toEqual([255, 0, 0, 0]);
  });

  it("but not because of layers that show", async () => {
    const { value, findings } = await prepare(of(await layered(false)), cmyk);
    expect(findings).toEqual([]);
    const { node } = await keptIn(value?.layers);
    expect(node.Resources()?.lookup(name("Properties"), PDFDict).toString()).not.toContain("OCG");
    expect(ringAt(value?.layers ?? [], 21.5, 10)).toEqual([0, 255, 0, 0]);
  });

  it("because a layer never prints", async () => {
    expect(await rules(await layered(false, { Print: { PrintState: "OFF" } }))).toContain(
      "warning artwork-hidden-layers",
    );
  });

  it("because a font is missing keeps its inks", async () => {
    const font = { Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" };
    const bytes = await page(`.8 .2 0 .4 k ${all} BT /F 40 Tf 0 0 0 1 k 5 20 Td (HHH) Tj ET`, { Font: { F: font } });
    const { value, findings } = await prepare(of(bytes), cmyk);
    expect(findings.map(({ level, rule }) => `${level} ${rule}`)).toEqual([
      "warning artwork-live-text",
      "note artwork-rasterised",
    ]);
    expect(findings[0]?.message).toContain("Helvetica");
    const raster = rasterOf(value?.layers.at(-1));
    expect(raster.space).toBe("cmyk");
    expect(valuesAt(value?.layers ?? [], 18, 2)).toEqual([204, 51, 0, 102]);
    const black = Array.from({ length: 200 }, (_, at) => valuesAt(value?.layers ?? [], at / 10, 10)).filter(
      (inks) => String(inks) === "0,0,0,255",
    );
    expect(black.length).toBeGreaterThan(10);
  });

  it.each([
    ["blends RGB", `1 0 0 rg ${all} /M gs 0 1 1 0 k ${all}`, { ExtGState: { M: { BM: "Multiply" } } }, "mixes RGB"],
    [
      "has a transfer function",
      `1 0 0 0 k /T gs ${all}`,
      { ExtGState: { T: { TR: { FunctionType: 2, Domain: [0, 1], N: 1 } } } },
      "transfer",
    ],
  ])("because it %s", async (_, content, resources, reason) => {
    const { value, findings } = await prepare(of(await page(content, resources)), cmyk);
    const notes = findings.filter(({ rule }) => rule !== "artwork-transparent");
    expect(notes).toMatchObject([{ level: "note", rule: "artwork-rasterised" }]);
    expect(notes[0]?.message).toContain(reason);
    expect(value?.layers.every(({ kind }) => kind === "raster")).toBe(true);
  });

  // As cairo 1.16 and Inkscape 1.2 write a gradient that fades: RGB, through a soft mask drawn in grey.
  it("mixes RGB in RGB where grey is met in its soft mask alone", async () => {
    const grey = { FunctionType: 2, Domain: [0, 1], C0: [0.5], C1: [0.5], N: 1 };
    const soft = (document: PDFDocument): void => {
      const { context } = document;
      const shading = { ShadingType: 2, ColorSpace: "DeviceGray", Coords: [0, 0, PT(20), 0], Function: grey };
      const form = context.stream("/S sh", {
        Type: "XObject",
        Subtype: "Form",
        BBox: [0, 0, PT(20), PT(20)],
        Group: { S: "Transparency", CS: "DeviceGray" },
        Resources: { Shading: { S: { ...shading, Extend: [true, true] } } },
      } as never);
      const mask = { Type: "Mask", S: "Luminosity", G: context.register(form) };
      document
        .getPage(0)
        .node.Resources()
        ?.set(name("ExtGState"), context.obj({ M: { SMask: mask } } as never));
    };
    const mixed = await prepare(of(await page(`1 0 0 rg ${all} /M gs 0 0 1 rg ${all}`, {}, {}, soft)), cmyk);
    const plain = await prepare(of(await page(`.5 0 .5 rg ${all}`)), cmyk);
    const [found, wanted] = [mixed, plain].map(({ value }) => ringAt(value?.layers ?? [], 21.5, 10) as number[]);
    for (const [ink, value] of (wanted as number[]).entries())
      expect(Math.abs(value - ((found as number[])[ink] as number))).toBeLessThanOrEqual(2);
    expect(mixed.findings.find(({ rule }) => rule === "artwork-transparent")?.message).toContain("mixed in RGB");
  });

  it("because the press has no such colours", async () => {
    const bytes = await page(`.8 .2 0 .4 k ${all}`);
    const grey = await prepare(of(bytes), press("grey"));
    expect(rasterOf(grey.value?.layers.at(-1)).space).toBe("grey");
    expect(await rules(bytes, press("rgb"))).toEqual(["note artwork-rasterised"]);
    expect(await rules(await page(`1 0 0 rg ${all}`), press("rgb"))).toEqual([]);
  });
});

describe("bad pages", () => {
  const fixture = (file: string): Uint8Array =>
    readFileSync(new URL(`../../fixtures/artwork/${file}`, import.meta.url));

  it.each(["password.pdf", "permissions.pdf"])("that are encrypted are refused: %s", async (file) => {
    const { value, findings } = await prepare(of(fixture(file)), cmyk);
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-encrypted" }]);
  });

  it("that are damaged are refused", async () => {
    const bytes = await page(`1 0 0 0 k ${all}`);
    expect(await rules(Buffer.from("%PDF-1.7\nnothing"))).toEqual(["error artwork-unreadable"]);
    expect(await rules(Buffer.of())).toEqual(["error artwork-unreadable"]);
    expect(await rules(bytes.subarray(0, 60))).toEqual(["error artwork-unreadable"]);
  });

  it("with more than one page are told of, and the first is printed", async () => {
    const bytes = await page(`1 0 0 0 k ${all}`, {}, {}, (document) => void document.addPage([9, 9]));
    const { value, findings } = await prepare(of(bytes), cmyk);
    expect(findings).toMatchObject([{ level: "warning", rule: "artwork-more-pages" }]);
    expect(value?.layers.at(-1)?.kind).toBe("page");
  });

  it("with a coarse picture are warned about, at the size it is placed", async () => {
    const placing = (content: string, inForm = false) =>
      page(content, {}, {}, (document) => {
        const { context } = document;
        const { node } = document.getPage(0);
        const picture = context.register(
          context.stream(Buffer.alloc(60 * 90 * 4, 200), {
            Type: "XObject",
            Subtype: "Image",
            Width: 60,
            Height: 90,
            ColorSpace: "DeviceCMYK",
            BitsPerComponent: 8,
          }),
        );
        const form = context.register(
          context.stream("/I Do", {
            Type: "XObject",
            Subtype: "Form",
            BBox: [0, 0, 1, 1],
            Matrix: [PT(10), 0, 0, PT(10), 0, 0],
            Resources: { XObject: { I: picture } },
          }),
        );
        node.Resources()?.set(name("XObject"), context.obj({ I: inForm ? form : picture }));
      });
    const at = `${PT(10)} 0 0 ${PT(10)} 0 0 cm /I Do`;
    const [coarse] = (await prepare(of(await placing(at)), cmyk)).findings;
    expect(coarse).toMatchObject({ level: "warning", rule: "resolution-low" });
    // 60 pixels over 10 mm; the other axis has 229.
    expect(coarse?.message).toContain("60 x 90 pixels over 10 x 10 mm are 152 x 229 ppi");
    const [inForm] = (await prepare(of(await placing("q /I Do Q", true)), cmyk)).findings;
    expect(inForm?.message).toBe(coarse?.message);
    // Small enough for its pixels: 6 mm at 254 ppi; the black fills the rest of the page.
    expect(await rules(await placing(`${all} q ${PT(6)} 0 0 ${PT(6)} 0 0 cm /I Do Q`))).toEqual([]);
  });

  it("that unpack without end are refused, not unpacked", async () => {
    const bytes = await page(`1 0 0 0 k ${all}`, {}, {}, (document) => {
      const grown = deflateSync(Buffer.concat([Buffer.from(`1 0 0 0 k ${all}`), Buffer.alloc(2 ** 26 + 9, 32)]));
      const bomb = PDFRawStream.of(document.context.obj({ Filter: "FlateDecode", Length: grown.length }), grown);
      document.getPage(0).node.set(name("Contents"), document.context.register(bomb));
    });
    expect(bytes.length).toBeLessThan(200_000);
    const { findings } = await prepare(of(bytes), cmyk);
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-unreadable" }]);
    expect(findings[0]?.message).toContain("unpacks without end");
  });

  it("that are not there are told of", async () => {
    const none = await (await PDFDocument.create()).save({ addDefaultPage: false });
    expect(await rules(none)).toEqual(["error artwork-missing-page"]);
  });

  it("without anything on them are told of", async () => {
    expect(await rules(await page(""))).toEqual(["warning artwork-blank"]);
  });
});
