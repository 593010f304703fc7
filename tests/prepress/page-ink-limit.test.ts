// The press's ink limit on pages whose RGB a RIP would else convert as it likes: gradients, meshes, pictures in the content.
import { checkPrint, writePrint } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import { outputProfile, prepare } from "@kitforme/prepress";
import { PDFName, type PDFObject } from "pdf-lib";
import { describe, expect, it } from "vitest";
import { has, plates } from "../support/oracle.ts";
import { placed, sheetOf } from "../support/sheets.ts";
import { file, page, piece, press, PT } from "./artwork-samples.ts";

const limited: Press = { ...press(), inkLimit: 220 };
const dark = { FunctionType: 2, Domain: [0, 1], C0: [0, 0, 0.05], C1: [0.1, 0.05, 0], N: 1 };
const along = { ShadingType: 2, Coords: [0, 0, PT(20), 0], Function: dark, Extend: [true, true] };

/** The most ink on any pixel of the print, percent, by Ghostscript's plates. */
const mostOf = async (bytes: Uint8Array) => {
  const { value, findings } = await prepare(piece(file("pdf", bytes)), limited);
  if (!value) throw new Error(findings.map(({ message }) => message).join());
  const sheet = sheetOf([placed(1, value, 0, [2, 22], [])], { width: mm(24), height: mm(24), marks: [], inks: [] });
  const print = await writePrint(sheet, { title: "Limit", profile: outputProfile(limited) });
  expect(await checkPrint(print, { ...sheet, pages: 1, condition: true })).toEqual([]);
  const made = ["Cyan", "Magenta", "Yellow", "Black"].map((plate) => plates(print, 72)[plate]?.data ?? []);
  let most = 0;
  for (let i = 0; i < (made[0]?.length ?? 0); i++)
    most = Math.max(most, made.reduce((sum, data) => sum + 255 - (data[i] as number), 0) / 2.55);
  return { most, kinds: new Set(value.layers.map(({ kind }) => kind)), rules: findings.map(({ rule }) => rule) };
};

describe.runIf(has("gs"))("the ink limit holds on a page (oracle: Ghostscript tiffsep)", () => {
  it("in a gradient of device RGB and one of a profile, which stay vectors", async () => {
    const bytes = await page(
      `q 0 0 ${PT(10)} ${PT(20)} re W n /A sh Q q ${PT(10)} 0 ${PT(10)} ${PT(20)} re W n /B sh Q`,
      {},
      {},
      (document) => {
        const { context } = document;
        const profile = context.register(context.stream(outputProfile(press("rgb"))?.bytes ?? "", { N: 3 } as never));
        const shadings = {
          A: { ...along, ColorSpace: "DeviceRGB" },
          B: { ...along, ColorSpace: ["ICCBased", profile] },
        };
        document
          .getPage(0)
          .node.Resources()
          ?.set(PDFName.of("Shading"), context.obj(shadings as never) as PDFObject);
      },
    );
    const { most, kinds } = await mostOf(bytes);
    expect(most).toBeGreaterThan(200);
    expect(most).toBeLessThanOrEqual(222);
    expect(kinds).toContain("page");
  });

  it("in a gradient that follows no line and in a picture in the content: they make the page pixels, with the reason", async () => {
    const { Coords: _, ...rest } = along;
    const plane = { FunctionType: 4, Domain: [0, 1, 0, 1], Range: [0, 1, 0, 1, 0, 1] };
    const free = await page(`q ${PT(20)} 0 0 ${PT(20)} 0 0 cm /A sh Q`, {}, {}, (document) => {
      const { context } = document;
      const tint = context.register(context.stream("{ pop .1 mul 0 exch .05 exch }", plane as never));
      const shadings = { A: { ...rest, ShadingType: 1, ColorSpace: "DeviceRGB", Function: tint } };
      document
        .getPage(0)
        .node.Resources()
        ?.set(PDFName.of("Shading"), context.obj(shadings as never) as PDFObject);
    });
    const inline = await page(
      `q ${PT(20)} 0 0 ${PT(20)} 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /RGB ID \u0001\u0001\u0002 EI Q`,
    );
    for (const bytes of [free, inline]) {
      const { most, kinds, rules } = await mostOf(bytes);
      expect(most).toBeGreaterThan(200);
      expect(most).toBeLessThanOrEqual(222);
      expect([...kinds]).toEqual(["raster"]);
      expect(rules).toContain("artwork-rasterised");
    }
  });
});
