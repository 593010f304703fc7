// Ink under control: intent, black-point compensation, the total, black alone for small type.
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { inkOf, outputProfile, prepare, srgb } from "@kitforme/prepress";
import { decodePDFRawStream, PDFArray, PDFDict, PDFDocument, PDFHexString, PDFName, PDFRawStream } from "pdf-lib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { has, inFolder } from "../support/oracle.ts";
import { file, page, piece, press, PT, rasterOf } from "./artwork-samples.ts";

// Every colour of a 10 x 10 x 10 grid once, as squares of 5 pixels.
const cube = Uint8Array.from({ length: 250 * 200 * 3 }, (_, at) => {
  const [x, y] = [Math.floor(at / 3) % 250, Math.floor(at / 750)];
  const cell = Math.floor(y / 10) * 50 + Math.floor(x / 5);
  return [(cell % 10) * 28, (Math.floor(cell / 10) % 10) * 28, Math.floor(cell / 100) * 28][at % 3] as number;
});
const picture = () => sharp(cube, { raw: { width: 250, height: 200, channels: 3 } });
const place = { x: 0, y: 0, width: 20_000, height: 20_000 };
const inksOf = async (bytes: Uint8Array, format: "png" | "jpeg" | "tiff", on = press()): Promise<Uint8Array> => {
  const { value } = await prepare(piece(file(format, bytes, place)), on);
  const raster = rasterOf(value?.layers.at(-1));
  expect(raster.data.kind).toBe("raw");
  expect(raster.space).toBe("cmyk");
  return raster.data.bytes;
};
const mostOf = (inks: Uint8Array): number => {
  let most = 0;
  for (let at = 0; at < inks.length; at += 4)
    most = Math.max(most, (inks[at] ?? 0) + (inks[at + 1] ?? 0) + (inks[at + 2] ?? 0) + (inks[at + 3] ?? 0));
  return most / 2.55;
};

describe("pictures in RGB on a CMYK press", () => {
  it("come to the same inks as JPEG and as PNG", async () => {
    const jpeg = await picture().jpeg({ quality: 90 }).toBuffer();
    const png = await sharp(jpeg).png().toBuffer();
    expect(Buffer.compare(await inksOf(jpeg, "jpeg"), await inksOf(png, "png"))).toBe(0);
  });

  it("with a profile of their own come to the same inks as JPEG and as PNG", async () => {
    const jpeg = await picture().withIccProfile("p3").jpeg({ quality: 90 }).toBuffer();
    const png = await sharp(jpeg).keepIccProfile().png().toBuffer();
    expect((await sharp(png).metadata()).icc?.length).toBeGreaterThan(100);
    const [a, b] = [await inksOf(jpeg, "jpeg"), await inksOf(png, "png")];
    let worst = 0;
    for (const [at, ink] of a.entries()) worst = Math.max(worst, Math.abs(ink - (b[at] as number)));
    // The program that wrote the PNG went there and back through the profile's 8 bits.
    expect(worst).toBeLessThanOrEqual(3);
  });

  it.each([
    [330, 330],
    [260, 260],
    [150, 150],
  ])("hold the ink limit of %i %%", async (inkLimit, most) => {
    const inks = await inksOf(await picture().png().toBuffer(), "png", { ...press(), inkLimit });
    expect(mostOf(inks)).toBeLessThanOrEqual(most);
    expect(mostOf(inks)).toBeGreaterThan(Math.min(most, 300) - 2);
  });

  it.runIf(has("tificc")).each([
    ["perceptual", 0],
    ["relative", 1],
    ["saturation", 2],
  ] as const)("equal LittleCMS within one level, %s with black-point compensation", async (intent, number) => {
    const tiff = await picture().tiff({ compression: "none" }).toBuffer();
    const judged = inFolder((at) => {
      writeFileSync(at("in.tif"), tiff);
      const profiles = [`-i${srgb().path}`, `-o${outputProfile({ colour: "cmyk" })?.path}`];
      execFileSync("tificc", ["-b", `-t${number}`, ...profiles, at("in.tif"), at("out.tif")]);
      return readFileSync(at("out.tif"));
    });
    const wanted = await sharp(judged).pipelineColourspace("cmyk").toColourspace("cmyk").raw().toBuffer();
    const inks = await inksOf(await picture().png().toBuffer(), "png", { ...press(), intent, inkLimit: 400 });
    let worst = 0;
    for (const [at, ink] of inks.entries()) worst = Math.max(worst, Math.abs(ink - (wanted[at] as number)));
    expect(worst).toBeLessThanOrEqual(1);
  });
});

describe("pictures in RGB inside a page", () => {
  const inPage = (data: Uint8Array, entries: object) =>
    page(`${PT(20)} 0 0 ${PT(20)} 0 0 cm /I Do`, {}, {}, (document) => {
      const { context } = document;
      const image = context.stream(data, {
        Type: "XObject",
        Subtype: "Image",
        Width: 250,
        Height: 200,
        BitsPerComponent: 8,
        ...entries,
      } as never);
      document
        .getPage(0)
        .node.Resources()
        ?.set(PDFName.of("XObject"), context.obj({ I: context.register(image) }));
    });
  /** The picture of a page that stayed vectors. */
  const pictureIn = async (bytes: Uint8Array, inkLimit: number) => {
    const { value } = await prepare(piece(file("pdf", bytes)), { ...press(), inkLimit });
    const layer = value?.layers.at(-1);
    if (layer?.kind !== "page") throw new Error("no page");
    const { node } = (await PDFDocument.load(layer.page.bytes, { updateMetadata: false })).getPage(0);
    const image = node.Resources()?.lookup(PDFName.of("XObject"), PDFDict).lookup(PDFName.of("I"));
    if (!(image instanceof PDFRawStream)) throw new Error("no picture");
    return image;
  };

  it.each([260, 330])("come to the inks of the same picture outside, within %i", async (inkLimit) => {
    const outside = await inksOf(await picture().png().toBuffer(), "png", { ...press(), inkLimit });
    const image = await pictureIn(await inPage(cube, { ColorSpace: "DeviceRGB" }), inkLimit);
    expect(image.dict.lookup(PDFName.of("ColorSpace"))?.toString()).toBe("/DeviceCMYK");
    expect(Buffer.compare(decodePDFRawStream(image).decode(), outside)).toBe(0);
    const jpeg = await picture().jpeg().toBuffer();
    const fromJpeg = await pictureIn(await inPage(jpeg, { ColorSpace: "DeviceRGB", Filter: "DCTDecode" }), inkLimit);
    const jpegOutside = await inksOf(jpeg, "jpeg", { ...press(), inkLimit });
    expect(Buffer.compare(decodePDFRawStream(fromJpeg).decode(), jpegOutside)).toBe(0);
  });

  it("by a palette come to a palette of inks", async () => {
    const space = ["Indexed", "DeviceRGB", 1, PDFHexString.of("ff0000000000")];
    const image = await pictureIn(await inPage(new Uint8Array(50_000), { ColorSpace: space }), 200);
    const made = image.dict.lookup(PDFName.of("ColorSpace"), PDFArray);
    expect(made.lookup(1)?.toString()).toBe("/DeviceCMYK");
    const colours = made.lookup(3, PDFHexString).asBytes();
    expect(colours).toHaveLength(8);
    expect(mostOf(colours)).toBeLessThanOrEqual(200);
    expect(colours[1]).toBeGreaterThan(150);
  });
});

describe("artwork in inks beyond the limit", () => {
  const solid = (inks: string) => page(`${inks} k ${PT(4)} ${PT(4)} ${PT(6)} ${PT(3)} re f`);

  it("is an error with place, figure and area", async () => {
    const { value, findings } = await prepare(piece(file("pdf", await solid("1 1 1 1"))), press());
    expect(value).toBeUndefined();
    expect(findings[0]).toMatchObject({ level: "error", rule: "ink-over-limit" });
    expect(findings[0]?.message).toMatch(/lays 400 % of ink over 1[5-9](\.\d)? mm2; the press takes 330 %/);
    const [x, y] = findings[0]?.where.at ?? [0, 0];
    expect(x).toBeGreaterThan(4);
    expect(x).toBeLessThan(10);
    expect(y).toBeGreaterThan(13);
    expect(y).toBeLessThan(16);
  });

  it("is measured against the press's own limit, and fine within", async () => {
    const rules = async (inks: string, inkLimit?: number) =>
      (
        await prepare(piece(file("pdf", await solid(inks))), { ...press(), ...(inkLimit ? { inkLimit } : {}) })
      ).findings.map(({ rule }) => rule);
    expect(await rules(".8 .8 .8 .8", 300)).toContain("ink-over-limit");
    expect(await rules(".8 .8 .8 .8", 320)).not.toContain("ink-over-limit");
  });

  it("counts where it prints only", async () => {
    const beyond = { x: -25_000, y: -25_000, width: 20_000, height: 20_000 };
    const { findings } = await prepare(piece(file("pdf", await solid("1 1 1 1"), beyond)), press());
    expect(findings.map(({ rule }) => rule)).not.toContain("ink-over-limit");
  });
});

describe("small type", () => {
  it.each(["#101010", "#1a1a1a", "#333333", "#2a2826"])("of a dark neutral is black ink alone: %s", async (colour) => {
    const ink = await inkOf(colour, press());
    expect(ink).toMatchObject({ space: "cmyk", c: 0, m: 0, y: 0 });
    if (ink.space === "cmyk") expect(ink.k).toBeGreaterThan(0.6);
  });

  it.each(["rgb", "grey"] as const)(
    "of a dark neutral is one grey on a press of %s, as light as it was",
    async (colour) => {
      const ink = await inkOf("#202020", press(colour));
      expect(ink.space).toBe("grey");
      if (ink.space === "grey") expect(Math.abs(ink.g - 0x20 / 255)).toBeLessThan(0.01);
      expect((await inkOf("#1b3a5b", press("rgb"))).space).toBe("rgb");
    },
  );

  it("gets lighter with its colour, and keeps colours that are ones", async () => {
    const blacks = await Promise.all(["#101010", "#282828", "#404040", "#585858"].map((one) => inkOf(one, press())));
    const shares = blacks.map((ink) => (ink.space === "cmyk" ? ink.k : 0));
    expect(shares).toEqual([...shares].sort((a, b) => b - a));
    expect(shares[0]).toBeGreaterThan(shares[3] as number);
    expect(await inkOf("#1b3a5b", press())).not.toMatchObject({ c: 0 });
    expect(await inkOf("#a0a0a0", press())).not.toMatchObject({ c: 0 });
  });

  it("may be given in inks", async () => {
    expect(await inkOf([10, 20, 30, 40], press())).toEqual({ space: "cmyk", c: 0.1, m: 0.2, y: 0.3, k: 0.4 });
    expect(await inkOf([0, 0, 0, 100], press("grey"))).toEqual({ space: "grey", g: 0 });
    const red = await inkOf([0, 100, 100, 0], press("rgb"));
    if (red.space !== "rgb") throw new Error("no RGB");
    expect(red.r).toBeGreaterThan(red.g + 0.5);
    await expect(inkOf([0, 0, 0, 101], press())).rejects.toThrow("percent");
  });
});
