// Spot inks as process inks: by what stands for them in the file, on plates read back with Ghostscript.
import { checkPrint, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { outputProfile, prepare } from "@kitforme/prepress";
import { PDFName, type PDFObject } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { has, plates, sampleAt } from "../support/oracle.ts";
import { placed, sheetOf } from "../support/sheets.ts";
import { file, page, piece, press, PT } from "./artwork-samples.ts";

const converting: Press = { ...press(), spots: "convert" };
const PLATES = ["Cyan", "Magenta", "Yellow", "Black"] as const;
const fill = (x: number, y: number, width: number, height: number): string =>
  `${PT(x)} ${PT(y)} ${PT(width)} ${PT(height)} re f`;
const line = (...inks: readonly number[]) => ({
  FunctionType: 2,
  Domain: [0, 1],
  C0: [0, 0, 0, 0],
  C1: inks,
  N: 1,
});
const BLUE = ["Separation", "Harbour Blue", "DeviceCMYK", line(1, 0.4, 0, 0.2)];
const LAB = ["Lab", { WhitePoint: [0.9642, 1, 0.8249], Range: [-128, 127, -128, 127] }];
const ROSE = ["Separation", "Rose", LAB, { FunctionType: 2, Domain: [0, 1], C0: [100, 0, 0], C1: [50, 70, 50], N: 1 }];
const DUO = [
  "DeviceN",
  ["Harbour Blue", "Black"],
  "DeviceCMYK",
  { FunctionType: 4, Domain: [0, 1, 0, 1], Range: [0, 1, 0, 1, 0, 1, 0, 1] },
];

const platesOf = async (bytes: Uint8Array, printed = converting) => {
  const { value, findings } = await prepare(piece(file("pdf", bytes)), printed);
  if (!value) throw new Error(findings.map(({ message }) => message).join());
  const sheet = sheetOf([placed(1, value, 0, [2, 22], [])], { width: mm(24), height: mm(24), marks: [], inks: [] });
  const print = await writePrint(sheet, { title: "Spots", profile: outputProfile(printed) });
  expect(await checkPrint(print, { ...sheet, pages: 1, condition: true })).toEqual([]);
  return { value, findings, made: has("gs") ? plates(print, 127) : {} };
};
/** Percent of each plate at a place of the piece, from its lower left. */
const inksAt = (made: Readonly<Record<string, Parameters<typeof sampleAt>[0]>>, x: number, y: number): number[] =>
  PLATES.map((plate) => Math.round((255 - (sampleAt(made[plate] as never, 127, x + 2, y + 2)[0] as number)) / 2.55));

describe("spot inks of a page on a press that converts them", () => {
  it.runIf(has("gs"))(
    "become process inks: solids, a picture and a gradient (oracle: Ghostscript tiffsep)",
    async () => {
      const content = `/S cs 1 scn ${fill(0, 0, 5, 20)} .5 scn ${fill(5, 0, 5, 20)} /D cs 1 .5 scn ${fill(10, 0, 3, 20)}
      q ${PT(4)} 0 0 ${PT(20)} ${PT(13)} 0 cm /I Do Q q ${PT(17)} 0 ${PT(3)} ${PT(20)} re W n /G sh Q`;
      const bytes = await page(content, {}, {}, (document) => {
        const { context } = document;
        const resources = document.getPage(0).node.Resources();
        const set = (key: string, value: object) =>
          resources?.set(PDFName.of(key), context.obj(value as never) as PDFObject);
        const tint = context.register(
          context.stream("{ exch dup .4 mul exch 0 4 1 roll 0 3 1 roll pop 0 }", DUO[3] as never),
        );
        set("ColorSpace", { S: BLUE, D: ["DeviceN", ["Harbour Blue", "Black"], "DeviceCMYK", tint] });
        // Two rows: full strength above, a quarter below; written the other way round.
        const picture = context.stream(Uint8Array.from([0, 191]), {
          Type: "XObject",
          Subtype: "Image",
          Width: 1,
          Height: 2,
          BitsPerComponent: 8,
          ColorSpace: BLUE,
          Decode: [1, 0],
        } as never);
        set("XObject", { I: context.register(picture) });
        const ramp = { FunctionType: 2, Domain: [0, 1], C0: [0], C1: [1], N: 1 };
        set("Shading", {
          G: { ShadingType: 2, ColorSpace: BLUE, Coords: [0, 0, 0, PT(20)], Function: ramp, Extend: [true, true] },
        });
      });
      const { value, findings, made } = await platesOf(bytes);
      expect(Object.keys(made).sort()).toEqual([...PLATES].sort());
      expect(value.spots ?? {}).toEqual({});
      expect(value.layers.at(-1)?.kind).toBe("page");
      expect(inksAt(made, 3, 10)).toEqual([100, 40, 0, 20]);
      expect(inksAt(made, 7.5, 10)).toEqual([50, 20, 0, 10]);
      expect(inksAt(made, 15, 15)).toEqual([100, 40, 0, 20]);
      expect(inksAt(made, 15, 5)).toEqual([25, 10, 0, 5]);
      const [c = 0, m = 0, y, k = 0] = inksAt(made, 18, 10);
      expect([Math.abs(c - 50) < 3, Math.abs(m - 20) < 3, y, Math.abs(k - 10) < 3]).toEqual([true, true, 0, true]);
      const note = findings.find(({ rule }) => rule === "artwork-spots-converted");
      expect(note).toMatchObject({ level: "note", where: { kit: "kit", piece: "piece" } });
      expect(note?.message).toContain('"Harbour Blue" (C100 M40 Y0 K20)');
      expect(findings.map(({ rule }) => rule)).not.toContain("artwork-spots");
    },
  );

  it.runIf(has("gs"))("go through the press's profile where Lab stands for them, within its ink limit", async () => {
    const bytes = await page(`/S cs 1 scn ${fill(-1, -1, 22, 22)}`, { ColorSpace: { S: ROSE } });
    const { made } = await platesOf(bytes, { ...converting, inkLimit: 150 });
    const inks = inksAt(made, 10, 10);
    expect(Object.keys(made).sort()).toEqual([...PLATES].sort());
    expect(inks[1]).toBeGreaterThan(60);
    expect(inks.reduce((sum, ink) => sum + ink, 0)).toBeLessThanOrEqual(151);
  });

  it("stay plates of their own where the press keeps them", async () => {
    const bytes = await page(`/S cs 1 scn ${fill(-1, -1, 22, 22)}`, { ColorSpace: { S: BLUE } });
    const { value, findings, made } = await platesOf(bytes, press());
    expect(Object.keys(value.spots ?? {})).toEqual(["Harbour Blue"]);
    expect(findings.map(({ rule }) => rule)).toContain("artwork-spots");
    if (has("gs")) expect(Object.keys(made)).toContain("Harbour Blue");
  });

  it("make the page pixels where vectors cannot carry them over, with the reason", async () => {
    const bytes = await page(`/P cs .5 /T scn ${fill(-1, -1, 22, 22)}`, {}, {}, (document) => {
      const { context } = document;
      const tile = context.stream(`${fill(0, 0, 1, 1)}`, {
        PatternType: 1,
        PaintType: 2,
        TilingType: 1,
        BBox: [0, 0, 9, 9],
        XStep: 9,
        YStep: 9,
        Resources: {},
      } as never);
      const resources = document.getPage(0).node.Resources();
      resources?.set(PDFName.of("Pattern"), context.obj({ T: context.register(tile) }));
      resources?.set(PDFName.of("ColorSpace"), context.obj({ P: ["Pattern", BLUE] } as never) as PDFObject);
    });
    const { value, findings, made } = await platesOf(bytes);
    expect(findings.find(({ rule }) => rule === "artwork-rasterised")?.message).toContain("spot inks to be converted");
    expect(value.layers.every(({ kind }) => kind === "raster")).toBe(true);
    if (has("gs")) expect(Object.keys(made).sort()).toEqual([...PLATES].sort());
  });

  it("are warned of where something overprints", async () => {
    const bytes = await page(`/O gs /S cs 1 scn ${fill(-1, -1, 22, 22)}`, {
      ColorSpace: { S: BLUE },
      ExtGState: { O: { Type: "ExtGState", OP: true, op: true } },
    });
    const { findings } = await platesOf(bytes);
    expect(findings.find(({ rule }) => rule === "artwork-spots-converted")).toMatchObject({ level: "warning" });
  });
});
