// Colours of a page that name their own profile: on a CMYK press they are inks of ours, within its limit, as a picture of the same
// colour is; read back by Ghostscript.
import { checkPrint, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { outputProfile, prepare, srgb } from "@kitforme/prepress";
import { type PDFContext, PDFHexString, PDFName, type PDFObject } from "pdf-lib";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { has, plates, sampleAt } from "../support/oracle.ts";
import { placed, sheetOf } from "../support/sheets.ts";
import { file, page, piece, press, PT, rasterOf } from "./artwork-samples.ts";

type Three = readonly [number, number, number];
const limited: Press = { ...press(), inkLimit: 220 };
const PLATES = ["Cyan", "Magenta", "Yellow", "Black"] as const;
const D50 = [0.9642, 1, 0.8249] as const;
/** A dark one, beyond the limit without it, and one of middle strength. */
const DARK: Three = [14, 26, 14];
const FERN: Three = [60, 140, 90];
/** sRGB's primaries for D50, column by column (IEC 61966-2-1, adapted by Bradford as in ICC profiles of it). */
const PRIMARIES = [0.4361, 0.2225, 0.0139, 0.3851, 0.7169, 0.0971, 0.1431, 0.0606, 0.7141] as const;
const linear = (value: number): number =>
  value <= 0.04045 * 255 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4;
const share = (values: readonly number[]): string => values.map((value) => (value / 255).toFixed(5)).join(" ");
/** CIE L*a*b* of sRGB (CIE 15). */
const lab = (rgb: Three): readonly number[] => {
  const [r, g, b] = rgb.map(linear) as [number, number, number];
  const [x, y, z] = [0, 1, 2].map((row) => {
    const [p, q, s] = [PRIMARIES[row], PRIMARIES[row + 3], PRIMARIES[row + 6]] as [number, number, number];
    const t = (p * r + q * g + s * b) / (D50[row] as number);
    return t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29;
  }) as [number, number, number];
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
};

const LAB = ["Lab", { WhitePoint: D50, Range: [-100, 100, -100, 100] }];
const LINEAR = ["CalRGB", { WhitePoint: D50, Matrix: PRIMARIES }];
const GREY = ["CalGray", { WhitePoint: D50, Gamma: 2.2 }];
const fill = (x: number, width: number): string => `${PT(x)} ${PT(-2)} ${PT(width)} ${PT(24)} re f`;

const pageWith = (content: string, set: (context: PDFContext) => Readonly<Record<string, object>>) =>
  page(content, {}, {}, (document) => {
    const { context } = document;
    const resources = document.getPage(0).node.Resources();
    for (const [key, value] of Object.entries(set(context)))
      resources?.set(PDFName.of(key), context.obj(value as never) as PDFObject);
  });
const profiled = (context: PDFContext, bytes: Uint8Array, channels = 3) =>
  context.obj([PDFName.of("ICCBased"), context.register(context.stream(bytes, { N: channels } as never))]);

const printed = async (bytes: Uint8Array, on: Press = limited) => {
  const { value, findings } = await prepare(piece(file("pdf", bytes)), on);
  if (!value) throw new Error(findings.map(({ message }) => message).join());
  const sheet = sheetOf([placed(1, value, 0, [2, 22], [])], { width: mm(24), height: mm(24), marks: [], inks: [] });
  const print = await writePrint(sheet, { title: "Spaces", profile: outputProfile(on) });
  expect(await checkPrint(print, { ...sheet, pages: 1, condition: true })).toEqual([]);
  const made = plates(print, 127);
  expect(Object.keys(made).sort()).toEqual([...PLATES].sort());
  let most = 0;
  const all = PLATES.map((plate) => made[plate]?.data ?? []);
  for (let i = 0; i < (all[0]?.length ?? 0); i++)
    most = Math.max(most, all.reduce((sum, data) => sum + 255 - (data[i] as number), 0) / 2.55);
  const inksAt = (x: number, y = 10): number[] =>
    PLATES.map((plate) => (255 - (sampleAt(made[plate] as never, 127, x + 2, y + 2)[0] as number)) / 2.55);
  return { most, inksAt, kinds: value.layers.map(({ kind }) => kind), findings };
};

/** The inks of a picture of one colour. */
const picture = async ([r, g, b]: Three): Promise<number[]> => {
  const png = await sharp({ create: { width: 200, height: 200, channels: 3, background: { r, g, b } } })
    .png()
    .toBuffer();
  const { value } = await prepare(piece(file("png", new Uint8Array(png))), limited);
  const { data } = rasterOf(value?.layers.at(-1));
  if (data.kind === "jpeg") throw new Error("wanted pixels");
  return [...data.bytes.subarray(0, 4)].map((ink) => ink / 2.55);
};
const near = (inks: readonly number[], wanted: readonly number[], what: string): void => {
  for (const [i, ink] of inks.entries())
    expect(Math.abs(ink - (wanted[i] as number)), `${what}: ${inks.join()} for ${wanted.join()}`).toBeLessThanOrEqual(
      2,
    );
};

describe.runIf(has("gs"))("colours that bring their own profile (oracle: Ghostscript tiffsep)", () => {
  let dark: number[];
  let fern: number[];
  beforeAll(async () => {
    [dark, fern] = [await picture(DARK), await picture(FERN)];
  });

  it("are inks within the limit, the same as a picture's: solids, palettes, patterns and pictures", async () => {
    const both = (space: string, of: (rgb: Three) => string, x: number) =>
      `/${space} cs ${of(DARK)} scn ${fill(x, 1)} ${of(FERN)} sc ${fill(x + 1, 1)}`;
    const content = [
      both("I", share, 0),
      both("C", (rgb) => rgb.map((one) => linear(one).toFixed(6)).join(" "), 2),
      both(
        "L",
        (rgb) =>
          lab(rgb)
            .map((one) => one.toFixed(4))
            .join(" "),
        4,
      ),
      `/X cs 0 sc ${fill(6, 1)} 1 sc ${fill(7, 1)}`,
      `/P cs ${share(FERN)} /T scn ${fill(8, 2)} ${both("N", share, 10)}`,
      `q ${PT(2)} 0 0 ${PT(20)} ${PT(12)} 0 cm /M Do Q q ${PT(2)} 0 0 ${PT(20)} ${PT(14)} 0 cm /S Do Q`,
      // Black is black ink alone, also where a space begins in it.
      `/I cs ${fill(16, 1)} /L cs 0 0 0 sc ${fill(17, 1)} /G cs .25 sc ${fill(18, 1)} /H cs 0 sc ${fill(19, 1)}`,
    ].join(" ");
    const hex = PDFHexString.of(Buffer.from([...DARK, ...FERN]).toString("hex"));
    const bytes = await pageWith(content, (context) => {
      const sRGB = profiled(context, srgb().bytes);
      const image = (space: unknown, data: readonly number[]) =>
        context.register(
          context.stream(Uint8Array.from(data), {
            Type: "XObject",
            Subtype: "Image",
            Width: 2,
            Height: 1,
            BitsPerComponent: 8,
            ColorSpace: space,
          } as never),
        );
      const tile = context.stream(fill(-1, 30), {
        PatternType: 1,
        PaintType: 2,
        TilingType: 1,
        BBox: [0, 0, 99, 99],
        XStep: 99,
        YStep: 99,
        Resources: {},
      } as never);
      const coded = [DARK, FERN].flatMap((rgb) => {
        const [l = 0, a = 0, b = 0] = lab(rgb);
        return [l * 2.55, (a + 100) * 1.275, (b + 100) * 1.275].map(Math.round);
      });
      return {
        ColorSpace: {
          I: sRGB,
          N: "DeviceRGB",
          C: LINEAR,
          L: LAB,
          X: ["Indexed", sRGB, 1, hex],
          P: ["Pattern", sRGB],
          G: GREY,
          H: ["Indexed", GREY, 0, PDFHexString.of("80")],
        },
        Pattern: { T: context.register(tile) },
        XObject: { M: image(LINEAR, [0, 0, 0, 255, 255, 255]), S: image(LAB, coded) },
      };
    });
    const { most, inksAt, kinds } = await printed(bytes);
    expect(kinds).toContain("page");
    expect(most).toBeGreaterThan(200);
    expect(most).toBeLessThanOrEqual(222);
    for (const [x, what] of [
      [0, "profile"],
      [2, "CalRGB"],
      [4, "Lab"],
      [6, "palette"],
      [10, "named"],
    ] as const) {
      near(inksAt(x + 0.5), dark, `dark ${what}`);
      near(inksAt(x + 1.5), fern, `fern ${what}`);
    }
    near(inksAt(9), fern, "pattern");
    near(inksAt(15.5), fern, "Lab picture");
    near(inksAt(13.5), [0, 0, 0, 0], "CalRGB picture");
    near(inksAt(16.5), [0, 0, 0, 100], "black of a profile");
    near(inksAt(17.5), [0, 0, 0, 100], "black of Lab");
    near(inksAt(18.5), [0, 0, 0, 75], "CalGray");
    near(inksAt(19.5), [0, 0, 0, 50], "palette of grey");
  });

  it("make the page pixels, with the reason, where inks cannot stand for them", async () => {
    const deep = await pageWith(`q ${PT(24)} 0 0 ${PT(24)} ${PT(-2)} ${PT(-2)} cm /M Do Q`, (context) => ({
      XObject: {
        M: context.register(
          context.stream(Uint8Array.from([9, 9, 20, 20, 9, 9]), {
            Type: "XObject",
            Subtype: "Image",
            Width: 1,
            Height: 1,
            BitsPerComponent: 16,
            ColorSpace: profiled(context, srgb().bytes),
          } as never),
        ),
      },
    }));
    const broken = await pageWith(`/I cs ${share(DARK)} sc ${fill(-2, 24)}`, (context) => ({
      ColorSpace: { I: profiled(context, srgb().bytes.slice(0, 300)) },
    }));
    const handed = await pageWith(`/I cs ${share(FERN)} sc /F Do`, (context) => ({
      ColorSpace: { I: profiled(context, srgb().bytes) },
      XObject: {
        F: context.register(
          context.stream(`${share(DARK)} sc ${fill(-2, 24)}`, {
            Type: "XObject",
            Subtype: "Form",
            BBox: [-99, -99, 99, 99],
          } as never),
        ),
      },
    }));
    for (const [bytes, reason] of [
      [deep, "picture of a kind that inks cannot replace"],
      [broken, "colours whose profile cannot be read"],
      [handed, "a form that goes on in the RGB or Lab colours it is met in"],
    ] as const) {
      const { most, kinds, findings } = await printed(bytes);
      expect(most).toBeGreaterThan(150);
      expect(most).toBeLessThanOrEqual(222);
      expect(new Set(kinds)).toEqual(new Set(["raster"]));
      expect(findings.find(({ rule }) => rule === "artwork-rasterised")?.message).toContain(reason);
    }
  });

  it("set to overprint in white would be lost, and it is reported", async () => {
    const bytes = await pageWith(`.5 g ${fill(-2, 24)} /O gs /I cs 1 1 1 sc ${PT(5)} ${PT(5)} 9 9 re f`, (context) => ({
      ColorSpace: { I: profiled(context, srgb().bytes) },
      ExtGState: { O: { OP: true, op: true, OPM: 1 } },
    }));
    const { findings } = await prepare(piece(file("pdf", bytes)), limited);
    expect(findings.map(({ rule }) => rule)).toContain("artwork-white-overprints");
  });
});

describe("colours of a profile that a press has no such inks for", () => {
  const rulesOf = async (space: object | ((context: PDFContext) => object), value: string, on = limited) => {
    const bytes = await pageWith(`/Z cs ${value} sc ${fill(-2, 24)}`, (context) => ({
      ColorSpace: { Z: typeof space === "function" ? space(context) : space },
    }));
    const { value: made, findings } = await prepare(piece(file("pdf", bytes)), on);
    return { rules: findings.map(({ rule }) => rule), kinds: made?.layers.map(({ kind }) => kind) ?? [], findings };
  };
  const gamma = (of: number) => ["CalGray", { WhitePoint: D50, Gamma: of }];
  /** A grey profile of one curve (ICC.1:2010, 7.2, 7.3, 10.5): header, one tag, a gamma in 8.8 bits. */
  const greyProfile = (of: number) => (context: PDFContext) => {
    const bytes = Buffer.alloc(160);
    bytes.writeUInt32BE(bytes.length, 0);
    bytes.write("prtrGRAYXYZ ", 12, "latin1");
    bytes.write("acsp", 36, "latin1");
    bytes.writeUInt32BE(1, 128);
    bytes.write("kTRC", 132, "latin1");
    bytes.writeUInt32BE(144, 136);
    bytes.writeUInt32BE(14, 140);
    bytes.write("curv", 144, "latin1");
    bytes.writeUInt32BE(1, 152);
    bytes.writeUInt16BE(Math.round(of * 256), 156);
    return ["ICCBased", context.register(context.stream(bytes, { N: 1 }))];
  };

  it("greys of an unusual curve are reported, those of usual ones are not", async () => {
    for (const usual of [gamma(2.2), gamma(1.8), greyProfile(2.2)])
      expect((await rulesOf(usual, ".5")).rules).not.toContain("artwork-grey-curve");
    for (const odd of [gamma(1), gamma(3), greyProfile(1)])
      expect((await rulesOf(odd, ".5")).rules).toContain("artwork-grey-curve");
    // L* of half the light (CIE 15).
    const { findings } = await rulesOf(gamma(1), ".5");
    expect(findings.find(({ rule }) => rule === "artwork-grey-curve")?.message).toContain("L* 76");
  });

  it("RGB of a profile makes the page pixels on a grey press, and it is reported", async () => {
    for (const [space, value] of [
      [LINEAR, "1 0 0"],
      [LAB, "50 60 20"],
      [(context: PDFContext) => profiled(context, srgb().bytes), "1 0 0"],
    ] as const) {
      const { rules, kinds } = await rulesOf(space, value, press("grey"));
      expect(rules).toContain("artwork-rasterised");
      expect(kinds).not.toContain("page");
    }
  });
});
