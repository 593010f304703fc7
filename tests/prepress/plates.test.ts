// Inks of pages that must become pixels: spot colours over Lab and RGB, by tables, soft masks, pictures in the content.
import { prepare } from "@kitforme/prepress";
import { PDFContext, PDFName, type PDFObject } from "../../packages/prepress/src/pdf-lib.ts";
import { describe, expect, it } from "vitest";
import { evaluator } from "../../packages/prepress/src/artwork/pdf/evaluate.ts";
import { file, page, piece, press, PT, valuesAt } from "./artwork-samples.ts";

const name = (key: string): PDFName => PDFName.of(key);
const fill = (x: number, y: number, width: number, height: number): string =>
  `${PT(x)} ${PT(y)} ${PT(width)} ${PT(height)} re f`;
/** A font that is not there makes the page pixels; black and cyan must survive it. */
const missing = { Font: { F: { Type: "Font", Subtype: "Type1", BaseFont: "Helvetica" } } };
const always = `0 0 0 1 k ${fill(0, 0, 10, 20)} BT /F 2 Tf 3 3 Td (x) Tj ET`;
const cmyk = press("cmyk");

const inksAt = async (bytes: Uint8Array, x: number, y: number) => {
  const { value, findings } = await prepare(piece(file("pdf", bytes)), cmyk);
  expect(findings.map(({ rule }) => rule)).toContain("artwork-rasterised");
  expect(findings.map(({ rule }) => rule)).not.toContain("artwork-inks-changed");
  expect(valuesAt(value?.layers ?? [], 2, 2)).toEqual([0, 0, 0, 255]);
  return valuesAt(value?.layers ?? [], x, y) as number[];
};
const table = (samples: readonly number[], outputs: number, entries: object = {}) => ({
  bytes: Uint8Array.from(samples),
  dict: {
    FunctionType: 0,
    Domain: [0, 1],
    Range: Array.from({ length: 2 * outputs }, (_, i) => i % 2),
    Size: [samples.length / outputs],
    BitsPerSample: 8,
    ...entries,
  },
});

describe("a page of pixels keeps 100 K, and", () => {
  it("spot colours by a table of CMYK", async () => {
    const bytes = await page(`${always} /S cs 1 scn ${fill(10, 0, 10, 20)}`, missing, {}, (document) => {
      const { context } = document;
      const { bytes: samples, dict } = table([0, 0, 0, 0, 255, 51, 0, 102], 4);
      const tint = context.register(context.stream(samples, dict as never));
      const spaces = context.obj({ S: ["Separation", "Sea", "DeviceCMYK", tint] } as never) as PDFObject;
      document.getPage(0).node.Resources()?.set(name("ColorSpace"), spaces);
    });
    expect(await inksAt(bytes, 15, 10)).toEqual([255, 51, 0, 102]);
  });

  it("spot colours over Lab, which come near what Lab is in the press's inks", async () => {
    const lab = ["Lab", { WhitePoint: [0.9642, 1, 0.8249], Range: [-128, 127, -128, 127] }];
    const line = { FunctionType: 2, Domain: [0, 1], C0: [100, 0, 0], C1: [50, 70, 50], N: 1 };
    const bytes = await page(`${always} /S cs 1 scn ${fill(10, 0, 10, 20)}`, {
      ...missing,
      ColorSpace: { S: ["Separation", "Rose", lab, line] },
    });
    const [c, m, y, k] = await inksAt(bytes, 15, 10);
    // A strong red: magenta and yellow, next to no cyan and black.
    expect(m).toBeGreaterThan(220);
    expect(y).toBeGreaterThan(180);
    expect(Math.max(c ?? 255, k ?? 255)).toBeLessThan(40);
  });

  it("pictures inside the content", async () => {
    const picture = `q ${PT(10)} 0 0 ${PT(20)} ${PT(10)} 0 cm BI /W 1 /H 1 /BPC 8 /CS /CMYK /F /AHx ID 0A78C83C> EI Q`;
    const found = await inksAt(await page(`${always} ${picture}`, missing), 15, 10);
    for (const [at, ink] of [10, 120, 200, 60].entries())
      expect(Math.abs((found[at] as number) - ink)).toBeLessThanOrEqual(1);
  });

  it("what shows through a soft mask", async () => {
    const bytes = await page(`${always} /M gs 0 1 0 0 k ${fill(10, 0, 10, 20)}`, missing, {}, (document) => {
      const { context } = document;
      const form = context.stream(`1 g ${fill(0, 0, 20, 20)}`, {
        Type: "XObject",
        Subtype: "Form",
        BBox: [0, 0, PT(20), PT(20)],
        Group: { S: "Transparency", CS: "DeviceGray" },
      } as never);
      const state = { SMask: { Type: "Mask", S: "Luminosity", G: context.register(form) } };
      document
        .getPage(0)
        .node.Resources()
        ?.set(name("ExtGState"), context.obj({ M: state } as never) as PDFObject);
    });
    expect(await inksAt(bytes, 15, 10)).toEqual([0, 255, 0, 0]);
  });
});

describe("evaluator", () => {
  const context = PDFContext.create();
  const calculate = (program: string, input: readonly number[], outputs: number) => {
    const range = Array.from({ length: 2 * outputs }, (_, i) => (i % 2 ? 100 : -100));
    const domain = input.flatMap(() => [-100, 100]);
    return evaluator(context.stream(program, { FunctionType: 4, Domain: domain, Range: range }))?.(input);
  };

  // Results by the definitions of ISO 32000, table 42.
  it.each([
    ["{ 2 mul 1 add }", [3], [7]],
    ["{ exch sub }", [1, 4], [3]],
    ["{ 3 1 roll }", [1, 2, 3], [3, 1, 2]],
    ["{ 3 -1 roll }", [1, 2, 3], [2, 3, 1]],
    ["{ dup 0 lt { neg } if }", [-4], [4]],
    ["{ dup 1 gt { pop 1 } { 2 mul } ifelse }", [0.25], [0.5]],
    ["{ 1 index }", [5, 6], [5, 6, 5]],
    ["{ 2 copy add }", [5, 6], [5, 6, 11]],
    ["{ 90 sin exch pop }", [0], [1]],
  ] as const)("works %s out", (program, input, wanted) => {
    expect(calculate(program, input, wanted.length)).toEqual(wanted);
  });

  it("mixes samples and joins parts", () => {
    const { bytes, dict } = table([0, 255, 0], 1);
    const sampled = context.stream(bytes, dict as never);
    expect(evaluator(sampled)?.([0.25])[0]).toBeCloseTo(0.5, 6);
    const line = (c0: number, c1: number) => ({ FunctionType: 2, Domain: [0, 1], C0: [c0], C1: [c1], N: 1 });
    const joined = {
      FunctionType: 3,
      Domain: [0, 1],
      Functions: [line(0, 1), line(5, 6)],
      Bounds: [0.5],
      Encode: [0, 1, 0, 1],
    };
    const both = evaluator(context.obj(joined as never) as PDFObject);
    expect([0.25, 0.75].map((x) => both?.([x])[0])).toEqual([0.5, 5.5]);
  });
});
