// Drawings in a drawing: what is in them prints as if it had been drawn in the drawing around them.
import type { Piece } from "@kitforme/kit";
import { readFileSync } from "node:fs";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { kitOf, svgMm } from "../support/kits.ts";
import { prepareInPixels, press, valuesAt } from "./artwork-samples.ts";
import { prepare } from "@kitforme/prepress";

const CUT = '<path id="cut" d="M0 0h20v20h-20z"/><rect x="-9" y="-9" width="38" height="38" fill="#fff"/>';
const noto = readFileSync(new URL("../../packages/prepress/fonts/NotoSans-SemiBold.ttf", import.meta.url));
const SVG = 'xmlns="http://www.w3.org/2000/svg"';

type Files = Readonly<Record<string, string | Uint8Array>>;
const pieceWith = async (body: string, files: Files, fonts?: readonly string[]) => {
  const form = { piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" } };
  const all = { "p.svg": svgMm(20, 20, CUT + body), "n.ttf": noto, ...files };
  const { value, findings } = await kitOf({ kit: "k", ...(fonts ? { fonts } : {}), pieces: [form] }, all);
  return { piece: value?.pieces[0] as Piece, findings };
};
const made = async (body: string, files: Files, fonts?: readonly string[]) => {
  const { piece, findings } = await pieceWith(body, files, fonts);
  const prepared = piece ? await prepareInPixels(piece, press("rgb")) : undefined;
  const all = [...findings, ...(prepared?.findings ?? [])].filter(({ rule }) => !/^artwork-(inside|short)$/.test(rule));
  return {
    layers: prepared?.value?.layers ?? [],
    findings: all,
    rules: all.map(({ level, rule }) => `${level} ${rule}`),
  };
};
/** What is printed on a raster of tenths of a millimetre. */
const samples = (layers: Awaited<ReturnType<typeof made>>["layers"]): number[] =>
  Array.from({ length: 200 * 200 }, (_, i) => {
    const values = valuesAt(layers, (i % 200) / 10 + 0.05, Math.floor(i / 200) / 10 + 0.05);
    return (values as number[])[0] ?? 255;
  });

const TEXT = '<text x="1" y="6" font-family="Noto Sans SemiBold" font-size="5">Hil</text>';

describe("text of a drawing in the drawing", () => {
  it("is set in the kit's fonts, just as in the drawing itself", async () => {
    const image =
      '<g font-family="Nowhere" font-size="9" fill="red" letter-spacing="3"><image href="in.svg" x="2" y="4" width="16" height="8"/></g>';
    const inner = `<svg ${SVG} viewBox="0 0 16 8">${TEXT}</svg>`;
    const nested = await made(image, { "in.svg": inner }, ["n.ttf"]);
    const direct = await made(`<g transform="translate(2 4)">${TEXT}</g>`, {}, ["n.ttf"]);
    expect(nested.rules).toEqual(["note text-set"]);
    const [one, other] = [samples(nested.layers), samples(direct.layers)];
    // Outlines are written with so many digits, and no more.
    expect(Math.max(...one.map((value, i) => Math.abs(value - (other[i] as number))))).toBeLessThan(32);
    expect(one.filter((value) => value < 40).length).toBeGreaterThan(300);
  });

  it("whose font is missing is named with its place in the drawing around it", async () => {
    const { findings } = await made('<image href="in.svg" x="2" y="4" width="8" height="4"/>', {
      "in.svg": `<svg ${SVG} viewBox="0 0 16 8"><text x="2" y="6" font-family="Helvetica" font-size="5">Hil</text></svg>`,
    });
    expect(findings).toMatchObject([
      { rule: "font-missing", where: { at: [3, 7] }, message: expect.stringContaining("Helvetica") },
    ]);
  });

  it("under an effect that is measured by the image it is refused by name", async () => {
    const { findings } = await made(
      '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter><image filter="url(#f)" href="in.svg" width="16" height="8"/>',
      { "in.svg": `<svg ${SVG} viewBox="0 0 16 8">${TEXT}</svg>` },
    );
    expect(findings).toMatchObject([
      { level: "error", rule: "text-in-picture", message: expect.stringContaining("in.svg") },
    ]);
  });
});

describe("a drawing in the drawing", () => {
  it("keeps its names and styles to itself, wherever it is drawn", async () => {
    const shade = (colour: string): string =>
      `<svg ${SVG} viewBox="0 0 4 4"><style>rect{fill:url(#g)}</style><linearGradient id="g"><stop stop-color="${colour}"/></linearGradient><rect id="r" width="4" height="4"/><use href="#r" x="9"/></svg>`;
    const { layers, rules } = await made(
      '<linearGradient id="g"><stop stop-color="#333"/></linearGradient><rect id="r" x="1" y="1" width="4" height="4" fill="url(#g)"/>' +
        '<image href="a.svg" x="6" y="1" width="4" height="4"/><image href="b.svg" x="11" y="1" width="4" height="4"/><image href="a.svg" x="6" y="6" width="4" height="4"/>',
      { "a.svg": shade("#f00"), "b.svg": shade("#00f") },
    );
    expect(rules).toEqual([]);
    const at = (x: number, y: number) => valuesAt(layers, x, y);
    expect([at(3, 3), at(8, 3), at(13, 3), at(8, 8), at(17, 3)]).toEqual([
      [51, 51, 51],
      [255, 0, 0],
      [0, 0, 255],
      [255, 0, 0],
      [255, 255, 255],
    ]);
  });

  it("lies in its image as preserveAspectRatio says, and shows nothing beyond its own edge", async () => {
    const wide = `<svg ${SVG} viewBox="0 0 8 4"><rect x="-9" y="-9" width="30" height="30" fill="#06c"/></svg>`;
    const { layers } = await made(
      '<image href="in.svg" x="1" y="1" width="8" height="8"/><image href="in.svg" x="11" y="1" width="8" height="8" preserveAspectRatio="xMidYMin slice"/><image href="in.svg" x="1" y="11" width="8" preserveAspectRatio="none"/>',
      { "in.svg": wide },
    );
    const inked = (x: number, y: number): boolean => (valuesAt(layers, x, y) as number[])[0] === 0;
    expect(
      [
        [5, 2.5],
        [5, 3.5],
        [5, 6.5],
        [5, 7.5],
      ].map(([x, y]) => inked(x as number, y as number)),
    ).toEqual([false, true, true, false]);
    expect(
      [
        [11.5, 8.5],
        [18.5, 1.5],
        [10.5, 4],
        [15, 9.5],
      ].map(([x, y]) => inked(x as number, y as number)),
    ).toEqual([true, true, false, false]);
    // Its height follows from its width.
    expect(
      [
        [5, 14.5],
        [5, 15.5],
      ].map(([x, y]) => inked(x as number, y as number)),
    ).toEqual([true, false]);
  });

  it("has its pictures judged with their place, and their colours made plain", async () => {
    const turned = await sharp({ create: { width: 20, height: 40, channels: 3, background: "#c33" } })
      .jpeg()
      .withMetadata({ orientation: 6 })
      .toBuffer();
    const { findings } = await made('<image href="d/in.svg" x="4" y="4" width="12" height="6"/>', {
      "d/in.svg": `<svg ${SVG} viewBox="0 0 24 12"><image href="p.jpg" x="2" y="1" width="20" height="10"/></svg>`,
      "d/p.jpg": turned,
    });
    expect(findings).toMatchObject([
      { rule: "picture-turned" },
      {
        rule: "picture-coarse",
        where: { at: [10, expect.closeTo(7, 2)] },
        message: expect.stringContaining("over 10 x 5 mm"),
      },
    ]);
  });

  it("has its pictures turned upright under an effect too", async () => {
    const halves = await sharp({ create: { width: 40, height: 40, channels: 3, background: "#fff" } })
      .composite([{ input: { create: { width: 20, height: 40, channels: 3, background: "#000" } }, left: 0, top: 0 }])
      .jpeg({ quality: 100 })
      .withMetadata({ orientation: 3 })
      .toBuffer();
    const { layers } = await made(
      '<filter id="f"><feOffset dx="0"/></filter><image filter="url(#f)" href="in.svg" width="20" height="20"/>',
      {
        "in.svg": `<svg ${SVG} viewBox="0 0 20 20"><image href="p.jpg" width="20" height="20"/></svg>`,
        "p.jpg": halves,
      },
    );
    expect([5, 15].map((x) => ((valuesAt(layers, x, 10) as number[])[0] ?? 0) > 128)).toEqual([true, false]);
  });

  it("stays vectors", async () => {
    const { piece } = await pieceWith(
      '<image href="in.svg" x="2" y="2" width="16" height="16" clip-path="url(#c)"/><clipPath id="c"><circle cx="10" cy="10" r="7"/></clipPath>',
      {
        "in.svg": `<svg ${SVG} viewBox="0 0 16 16"><path d="M0 0H16L8 16Z" fill="#c33"/></svg>`,
      },
    );
    const { value, findings } = await prepare(piece, press("cmyk"));
    expect(findings.map(({ rule }) => rule)).not.toContain("drawing-pixels");
    expect(value?.layers.some(({ kind }) => kind === "page")).toBe(true);
  });

  it("names the file in which something is wrong", async () => {
    const { findings } = await made('<image href="in.svg" width="8" height="8"/>', {
      "in.svg": `<svg ${SVG} viewBox="0 0 8 8"><rect width="4" height="4" style="fill:device-cmyk(0 1 1 0)"/></svg>`,
    });
    expect(findings).toMatchObject([{ rule: "colour-not-drawn", where: { file: "in.svg" } }]);
  });
});
