import { createHash } from "node:crypto";
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { inkOf, outputProfile, srgb } from "@kitforme/prepress";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { has, inFolder } from "../support/oracle.ts";
import { box, drawing, file, piece, press, rasterOf, valuesAt, prepareInPixels as prepare } from "./artwork-samples.ts";

/** What Debian's LittleCMS makes of sRGB bytes, perceptual intent, black-point compensation. */
const byLittleCms = async (rgb: Uint8Array, width: number, height: number): Promise<Uint8Array> => {
  const picture = await sharp(rgb, { raw: { width, height, channels: 3 } })
    .tiff({ compression: "none" })
    .toBuffer();
  const made = inFolder((at) => {
    writeFileSync(at("in.tif"), picture);
    const profiles = [`-i${srgb().path}`, `-o${outputProfile({ colour: "cmyk" })?.path}`];
    execFileSync("tificc", ["-t0", "-b", ...profiles, at("in.tif"), at("out.tif")]);
    return readFileSync(at("out.tif"));
  });
  return sharp(made).pipelineColourspace("cmyk").toColourspace("cmyk").raw().toBuffer();
};

describe("outputProfile", () => {
  it("is the printing condition it says, unchanged since its maker", () => {
    const profile = outputProfile({ colour: "cmyk" });
    const bytes = Buffer.from(profile?.bytes ?? []);
    // Header of an ICC profile: class at 12, colour space at 16 (ICC.1, profile header). Hash as published in the Debian package.
    expect(bytes.toString("latin1", 12, 20)).toBe("prtrCMYK");
    expect(profile).toMatchObject({ identifier: "FOGRA39", channels: 4, registry: "http://www.color.org" });
    expect(createHash("sha256").update(bytes).digest("hex")).toMatch(/^b35713ef7eff09349d4c3249e5f37773/);
  });

  it.runIf(has("transicc"))("for uncoated paper shows solids as they were measured", () => {
    const profile = outputProfile({ colour: "cmyk", bundled: "FOGRA29" });
    expect(profile).toMatchObject({ identifier: "FOGRA29", channels: 4, inkLimit: 300 });
    expect(Buffer.from(profile?.bytes ?? []).toString("latin1", 12, 20)).toBe("prtrCMYK");
    // FOGRA29L.ti3 of Debian's icc-profiles-free: inks in percent, L*a*b* as measured.
    const measured: [string, number[]][] = [
      ["0 0 0 0", [95.71, 0.61, -2.32]],
      ["100 0 0 0", [59.04, -26.66, -42.8]],
      ["0 100 100 0", [52.48, 55.39, 30.12]],
      ["100 100 0 40", [33.69, 5.78, -19.28]],
      ["0 0 0 100", [31.88, 2.05, 2.08]],
    ];
    const shown = execFileSync("transicc", ["-n", `-i${profile?.path}`, "-o*Lab4", "-t3"], {
      input: `${measured.map(([inks]) => inks).join("\n")}\n`,
      encoding: "utf8",
    });
    const rows = shown.split("\n").flatMap((line) => {
      const numbers = (line.match(/-?\d+\.\d+/g) ?? []).map(Number);
      return numbers.length === 3 ? [numbers] : [];
    });
    expect(rows).toHaveLength(measured.length);
    for (const [i, [, lab]] of measured.entries())
      expect(Math.hypot(...lab.map((value, k) => value - (rows[i]?.[k] ?? NaN)))).toBeLessThan(1);
  });

  it("for uncoated paper keeps dark colours within 300 %, where coated takes more of them", async () => {
    const dark = async (bundled: "FOGRA29" | "FOGRA39"): Promise<number> => {
      const ink = await inkOf("#3a1a0a", { colour: "cmyk", bundled, inkLimit: 400 });
      return ink.space === "cmyk" ? 100 * (ink.c + ink.m + ink.y + ink.k) : NaN;
    };
    expect(await dark("FOGRA29")).toBeLessThanOrEqual(301);
    expect(await dark("FOGRA29")).not.toBe(await dark("FOGRA39"));
  });

  it("is sRGB for an RGB press and nothing for a grey one", () => {
    expect(Buffer.from(outputProfile({ colour: "rgb" })?.bytes ?? []).toString("latin1", 12, 20)).toBe("mntrRGB ");
    expect(outputProfile({ colour: "grey" })).toBeNull();
  });
});

describe("inkOf", () => {
  it("prints black with black ink alone", async () => {
    expect(await inkOf("#000000", { colour: "cmyk" })).toEqual({ space: "cmyk", c: 0, m: 0, y: 0, k: 1 });
    expect(await inkOf("#000000", { colour: "grey" })).toEqual({ space: "grey", g: 0 });
  });

  it("prints nothing for white", async () => {
    expect(await inkOf("#FFFFFF", { colour: "cmyk" })).toEqual({ space: "cmyk", c: 0, m: 0, y: 0, k: 0 });
  });

  it("keeps RGB on an RGB press", async () => {
    expect(await inkOf("#1b3a5b", { colour: "rgb" })).toEqual({ space: "rgb", r: 27 / 255, g: 58 / 255, b: 91 / 255 });
  });

  it("says what it wanted when it gets something else", async () => {
    await expect(inkOf("navy", { colour: "cmyk" })).rejects.toThrow(/#rrggbb.*navy/);
  });

  it.runIf(has("tificc"))("agrees with LittleCMS within one level", async () => {
    const ink = await inkOf("#1b3a5b", { colour: "cmyk" });
    const judged = await byLittleCms(Uint8Array.from([0x1b, 0x3a, 0x5b]), 1, 1);
    if (ink.space !== "cmyk") throw new Error("no CMYK");
    const made = [ink.c, ink.m, ink.y, ink.k].map((share) => share * 255);
    for (const [at, value] of made.entries()) expect(Math.abs(value - (judged[at] as number))).toBeLessThanOrEqual(1);
  });
});

describe("pictures in the colours of a press", () => {
  // Every colour of a 10 x 10 x 4 grid once, as squares of 5 pixels on 200 x 200.
  const cube = Uint8Array.from({ length: 200 * 200 * 3 }, (_, at) => {
    const [x, y] = [Math.floor(at / 3) % 200, Math.floor(at / 600)];
    const cell = Math.floor(y / 10) * 20 + Math.floor(x / 10);
    return [(cell % 10) * 28, (Math.floor(cell / 10) % 10) * 28, Math.floor(cell / 100) * 85][at % 3] as number;
  });
  const png = (): Promise<Buffer> =>
    sharp(cube, { raw: { width: 200, height: 200, channels: 3 } })
      .png()
      .toBuffer();

  it.runIf(has("tificc"))("CMYK equals LittleCMS within one level, everywhere", async () => {
    const { value } = await prepare(piece(file("png", await png())), press("cmyk"));
    const raster = rasterOf(value?.layers.at(-1));
    expect([raster.width, raster.height, raster.space, raster.profile]).toEqual([200, 200, "cmyk", undefined]);
    const judged = await byLittleCms(cube, 200, 200);
    let worst = 0;
    for (const [at, ink] of raster.data.bytes.entries())
      worst = Math.max(worst, Math.abs(ink - (judged[at] as number)));
    expect(worst).toBeLessThanOrEqual(1);
  });

  it("RGB stays, with its profile", async () => {
    const { value } = await prepare(piece(file("png", await png())), press("rgb"));
    const raster = rasterOf(value?.layers.at(-1));
    expect(Buffer.compare(raster.data.bytes, cube)).toBe(0);
    expect(raster.profile).toEqual(srgb().bytes);
  });

  it("grey is one channel, and black and white stay", async () => {
    const svg =
      '<path d="M-5-5h30v30h-30z" fill="#fff"/><path d="M5 5h5v5h-5z"/><path d="M12 5h5v5h-5z" fill="#808080"/>';
    const { value } = await prepare(piece(drawing(svg)), press("grey"));
    const layers = value?.layers ?? [];
    expect([valuesAt(layers, 7, 7), valuesAt(layers, 14, 7), valuesAt(layers, 2, 2)]).toEqual([[0], [128], [255]]);
  });

  it("an embedded profile is honoured", async () => {
    const flat = { create: { width: 200, height: 200, channels: 3, background: "#c08040" } } as const;
    const wide = await sharp(flat).withIccProfile("p3").png().toBuffer();
    const tagged = await prepare(piece(file("png", wide)), press("cmyk"));
    const plain = await prepare(piece(file("png", await sharp(flat).png().toBuffer())), press("cmyk"));
    // The file was converted to P3 by sharp: another set of numbers for the very same colour.
    const [a, b] = [tagged, plain].map(({ value }) => valuesAt(value?.layers ?? [], 10, 10)) as [number[], number[]];
    for (const [at, ink] of a.entries()) expect(Math.abs(ink - (b[at] as number))).toBeLessThanOrEqual(3);
  });

  it("CMYK stays CMYK to the last bit, profile or none", async () => {
    const inks = { create: { width: 200, height: 200, channels: 3, background: "#d02030" } } as const;
    const tiff = await sharp(inks)
      .withIccProfile(outputProfile(press())?.path ?? "")
      .tiff({ compression: "lzw" })
      .toBuffer();
    const stored = await sharp(tiff).pipelineColourspace("cmyk").toColourspace("cmyk").raw().toBuffer();
    const { value, findings } = await prepare(piece(file("tiff", tiff)), press("cmyk"));
    expect(findings).toEqual([]);
    expect(valuesAt(value?.layers ?? [], 10, 10)).toEqual([...stored.subarray(0, 4)]);
    expect(stored[1]).toBeGreaterThan(200);
  });

  it("grey pictures stay grey on a CMYK press", async () => {
    const grey = await sharp(new Uint8Array(200 * 200).fill(77), { raw: { width: 200, height: 200, channels: 1 } })
      .toColourspace("b-w")
      .png()
      .toBuffer();
    const { value } = await prepare(piece(file("png", grey)), press("cmyk"));
    expect(rasterOf(value?.layers.at(-1)).space).toBe("grey");
    expect(valuesAt(value?.layers ?? [], 10, 10)).toEqual([77]);
  });

  it("16 bits become 8 without a jump", async () => {
    const deep = new Uint16Array(200 * 200 * 3).map((_, at) => [65_535, 32_896, 257][at % 3] as number);
    const png16 = await sharp(deep, { raw: { width: 200, height: 200, channels: 3 } })
      .toColourspace("rgb16")
      .png()
      .toBuffer();
    expect((await sharp(png16).metadata()).depth).toBe("ushort");
    const { value } = await prepare(piece(file("png", png16)), press("rgb"));
    expect(valuesAt(value?.layers ?? [], 10, 10)).toEqual([255, 128, 1]);
  });

  it("black line art of a drawing is black ink alone, black that ends a gradient is not", async () => {
    const line = '<path d="M-5-5h30v30h-30z" fill="#fff"/><path d="M5 5h10v10h-10z" fill="#000"/>';
    const shade = `${line}<linearGradient id="g"><stop stop-color="#fff"/><stop offset="1"/></linearGradient>`;
    const [alone, rich] = await Promise.all(
      [line, shade].map(async (svg) =>
        valuesAt((await prepare(piece(drawing(svg)), press())).value?.layers ?? [], 10, 10),
      ),
    );
    expect(alone).toEqual([0, 0, 0, 255]);
    // 300 % of ink for black through this profile (measured; the condition's usual limit is 330 %).
    expect((rich as number[]).reduce((sum, ink) => sum + ink, 0)).toBeGreaterThan(2.9 * 255);
    expect(box.width).toBe(20_000);
  });
});
