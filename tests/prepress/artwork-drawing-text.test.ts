// Text of drawings that is still set in type, pictures in drawings, and the second look at every drawing.
import { readFileSync } from "node:fs";
import type { Artwork, DrawingParts, Piece } from "@kitforme/kit";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { kitOf, svgMm } from "../support/kits.ts";
import { drawing, file, piece, press, valuesAt, prepareInPixels as prepare, plainTiff } from "./artwork-samples.ts";

const rgb = press("rgb");
const WHITE = '<rect x="-9" y="-9" width="38" height="38" fill="#fff"/>';
const made = async (body: string, parts: DrawingParts = {}) => {
  const prepared = await prepare(piece({ ...drawing(WHITE + body), ...parts } as Artwork), rgb);
  const { value } = prepared;
  // How the artwork lies to the cut is not what is asked here.
  const findings = prepared.findings.filter(({ rule }) => !/^artwork-(inside|short)$/.test(rule));
  return { layers: value?.layers ?? [], findings, rules: findings.map((f) => `${f.level} ${f.rule}`) };
};
/** Square millimetres that are darker than half, from x0 to x1. */
const dark = (layers: Awaited<ReturnType<typeof made>>["layers"], x0 = 0, x1 = 20): number => {
  let count = 0;
  for (let y = 0.05; y < 20; y += 0.1)
    for (let x = x0 + 0.05; x < x1; x += 0.1) if (((valuesAt(layers, x, y) as number[])[0] ?? 255) < 128) count++;
  return count / 100;
};
const noto = readFileSync(new URL("../../packages/prepress/fonts/NotoSans-SemiBold.ttf", import.meta.url));

describe("text that is still type", () => {
  it("whose font is missing is set in the bundled one, and both are named, with the place", async () => {
    const { layers, findings } = await made('<text x="2" y="12" font-family="Helvetica" font-size="8">Hil</text>', {
      texts: [{ name: "<text>", at: [2, 12] }],
    });
    expect(findings).toMatchObject([
      {
        level: "warning",
        rule: "font-missing",
        where: { at: [2, 12] },
        message: expect.stringMatching(/"Hil".*Helvetica.*Noto Sans/),
      },
    ]);
    expect(dark(layers)).toBeGreaterThan(5);
  });

  it("whose font the kit brings is set in it", async () => {
    const text = '<text x="2" y="12" font-family="Noto Sans SemiBold" font-size="8">Hil</text>';
    const [without, brought] = [
      await made(text.replace(" SemiBold", "")),
      await made(text, { fonts: [{ file: "fonts/n.ttf", bytes: noto }] }),
    ];
    expect(brought.rules).toEqual(["note text-set"]);
    expect(dark(brought.layers)).toBeGreaterThan(1.15 * dark(without.layers));
  });

  it("along a path is drawn along it", async () => {
    const body =
      '<defs><path id="p" d="M15 18V2"/></defs><text font-family="Noto Sans" font-size="4"><textPath href="#p">HHHHH</textPath></text>';
    const { layers, rules } = await made(body);
    expect(rules).toEqual([]);
    expect(dark(layers, 10, 16)).toBeGreaterThan(5);
    expect(dark(layers, 16.5)).toBe(0);
  });

  it("keeps its transform, its gradient and its place in a clip or a use", async () => {
    const body =
      '<defs><linearGradient id="g"><stop stop-color="#f00"/><stop offset="1" stop-color="#00f"/></linearGradient>' +
      '<text id="u" font-family="Noto Sans" font-size="9">II</text>' +
      '<clipPath id="c"><text font-family="Noto Sans" font-size="30" x="-6" y="20" transform="translate(8 0)">I</text></clipPath></defs>' +
      '<g transform="translate(1 9)"><text font-family="Noto Sans" font-weight="bold" font-size="6" fill="url(#g)">MMM</text></g>' +
      '<g clip-path="url(#c)"><rect width="20" height="30" fill="#0a0"/></g><use href="#u" x="14" y="19" fill="#909"/>';
    const { layers, rules } = await made(body);
    expect(rules.filter((rule) => !/text-set|style/.test(rule))).toEqual([]);
    const colours = new Set<string>();
    for (let y = 0; y < 20; y += 0.25) for (let x = 0; x < 20; x += 0.25) colours.add(String(valuesAt(layers, x, y)));
    expect(colours).toContain("0,170,0");
    expect(colours).toContain("153,0,153");
    expect([...colours].some((c) => /^(2\d\d),0,\d?\d$/.test(c))).toBe(true);
    expect([...colours].some((c) => /^\d?\d,0,(1[5-9]|2\d)\d$/.test(c))).toBe(true);
  });

  it("with a letter that no font has is refused, by name and place: emoji", async () => {
    const { findings, layers } = await made('<text y="9" font-family="Noto Sans">Hi \u{1f600}</text>', {
      texts: [{ name: "<text>", at: [0, 9] }],
    });
    expect(findings).toMatchObject([
      { level: "error", rule: "letter-missing", where: { at: [0, 9] }, message: expect.stringContaining("U+1F600") },
    ]);
    expect(layers).toEqual([]);
  });

  it("in a style that is not there says so", async () => {
    expect((await made('<text y="9" font-family="Noto Sans" font-style="italic">Hi</text>')).rules).toContain(
      "warning font-style-missing",
    );
  });
});

describe("pictures in a drawing", () => {
  const image = (bytes: Buffer, type: string, more = ""): string =>
    `<image width="20" height="20" ${more} href="data:image/${type};base64,${bytes.toString("base64")}"/>`;
  const flat = (background: string) => sharp({ create: { width: 40, height: 40, channels: 3, background } });

  it("with a profile are shown by it", async () => {
    // Display P3's pure green is outside sRGB: the nearest is 0,255,0; its grey-green of 100,160,100 is 75,162,94 (lcms, relative).
    const p3 = await sharp(Buffer.alloc(40 * 40 * 3, Buffer.from([100, 160, 100])), {
      raw: { width: 40, height: 40, channels: 3 },
    })
      .png()
      .toBuffer();
    const profiled = await sharp(p3).withIccProfile("p3").png().toBuffer();
    const raw = await sharp(profiled, { ignoreIcc: true }).removeAlpha().raw().toBuffer();
    const { layers } = await made(image(profiled, "png"));
    const [r = 0, , b = 0] = valuesAt(layers, 10, 10) as number[];
    expect(Math.abs(r - 100)).toBeLessThanOrEqual(2);
    expect(Math.abs(b - 100)).toBeLessThanOrEqual(2);
    expect(Math.abs((raw[0] as number) - 100)).toBeGreaterThan(4);
  });

  it("in CMYK are not black, blank or inverted", async () => {
    const cmyk = await flat("#00aa44").toColourspace("cmyk").jpeg().toBuffer();
    const [r = 0, g = 0, b = 0] = valuesAt((await made(image(cmyk, "jpeg"))).layers, 10, 10) as number[];
    expect(g).toBeGreaterThan(120);
    expect(r).toBeLessThan(80);
    expect(b).toBeLessThan(120);
  });

  it("that the camera turned are upright", async () => {
    const blue = await flat("#00f").resize(20, 40).png().toBuffer();
    const exif = await flat("#f00")
      .composite([{ input: blue, left: 0, top: 0 }])
      .jpeg()
      .toBuffer();
    const turned = await sharp(exif).withMetadata({ orientation: 6 }).jpeg().toBuffer();
    const { layers, rules } = await made(image(turned, "jpeg"));
    // Orientation 6: the left half of the samples is the upper half of the picture.
    expect((valuesAt(layers, 10, 4) as number[])[2]).toBeGreaterThan(200);
    expect((valuesAt(layers, 10, 16) as number[])[0]).toBeGreaterThan(200);
    expect(rules).toEqual(["note picture-turned"]);
  });

  it("of too few pixels are told, with place and pixels per inch", async () => {
    const bytes = await flat("#0a0").png().toBuffer();
    const pictures = [{ name: '<image id="i">', nth: 0, at: [10, 10] as const, size: [20_000, 20_000] as const }];
    const { findings } = await made(image(bytes, "png"), { pictures });
    expect(findings).toMatchObject([
      {
        level: "warning",
        rule: "picture-coarse",
        where: { at: [10, 10] },
        message: expect.stringContaining(" 51 pixels per inch"),
      },
    ]);
  });

  it("in colours that the decoder takes for others are refused by name: a TIFF with a saved selection", async () => {
    const { rules } = await made(image(plainTiff(2, [200, 12, 40, 255, 0], 8, { 338: 2 }), "tiff"));
    expect(rules).toEqual(["error picture-colours"]);
  });

  it("that are cut off are refused", async () => {
    const noise = Buffer.from(Array.from({ length: 90 * 90 * 3 }, (_, i) => (i * 7919) % 251));
    const whole = await sharp(noise, { raw: { width: 90, height: 90, channels: 3 } })
      .jpeg()
      .toBuffer();
    const { rules } = await made(image(whole.subarray(0, whole.length / 2), "jpeg"));
    expect(rules).toEqual(["error picture-damaged"]);
    // A run of zeros in the middle: a decoder shows grey from there on, and says nothing.
    const holed = Buffer.from(whole).fill(0, whole.length >> 1, (whole.length >> 1) + 60);
    expect((await made(image(holed, "jpeg"))).rules).toEqual(["error picture-damaged"]);
  });

  it("in WebP and AVIF are drawn", async () => {
    for (const kind of ["webp", "avif"] as const) {
      const bytes = await flat("#0000ff").toFormat(kind).toBuffer();
      expect((valuesAt((await made(image(bytes, kind))).layers, 10, 10) as number[])[2]).toBeGreaterThan(240);
    }
  });
});

it.each(["webp", "avif"] as const)("an artwork file in %s is opened", async (kind) => {
  const bytes = await sharp({ create: { width: 240, height: 240, channels: 3, background: "#0000ff" } })
    .toFormat(kind)
    .toBuffer();
  const { value, findings } = await prepare(piece(file(kind, bytes)), rgb);
  expect(findings).toEqual([]);
  expect((valuesAt(value?.layers ?? [], 10, 10) as number[])[2]).toBeGreaterThan(240);
});

describe("the second look", () => {
  it("finds nothing where two renderers agree", async () => {
    const body =
      '<defs><radialGradient id="g"><stop stop-color="#fc0"/><stop offset="1" stop-color="#036"/></radialGradient><filter id="f"><feGaussianBlur stdDeviation="1"/></filter></defs>' +
      '<circle cx="10" cy="10" r="8" fill="url(#g)"/><path d="M2 2L18 5L4 18z" fill="none" stroke="#c00" stroke-width=".3" stroke-dasharray="1 .5"/><rect x="12" y="12" width="5" height="5" filter="url(#f)" opacity=".7"/>';
    expect((await made(body)).rules).toEqual([]);
  });

  it("agrees about a drawing in a drawing, whatever its size", async () => {
    const { value, findings } = await kitOf(
      { kit: "k", pieces: [{ piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" } }] },
      {
        "p.svg": svgMm(
          20,
          20,
          '<rect x="-3" y="-3" width="26" height="26" fill="#036"/><image href="in.svg" x="4" y="3" width="15" height="10"/><path id="cut" d="M0 0h20v20h-20z"/>',
        ),
        "in.svg":
          '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 15 10"><rect width="15" height="10" fill="#fc0"/></svg>',
      },
    );
    expect(findings).toEqual([]);
    const prepared = await prepare(value?.pieces[0] as Piece, rgb);
    expect(prepared.findings).toEqual([]);
    const layers = prepared.value?.layers ?? [];
    for (const [x, y] of [
      [4.2, 3.2],
      [18.8, 12.8],
    ] as const)
      expect(valuesAt(layers, x, y)).toEqual([255, 204, 0]);
  });

  it("warns where they do not, with the place and both views", async () => {
    // `stroke-linejoin: arcs` of SVG 2 and the marker's context paint are read by one of the two only.
    const body =
      '<defs><marker id="m" markerWidth="3" markerHeight="3" refX="1.5" refY="1.5" markerUnits="strokeWidth"><rect width="3" height="3" fill="context-stroke"/></marker></defs><path d="M3 14H14" stroke="#f00" stroke-width="2" marker-end="url(#m)"/>';
    const { findings } = await made(body);
    expect(findings).toMatchObject([{ level: "warning", rule: "drawing-seen-two-ways" }]);
    const [x = 0, y = 0] = findings[0]?.where.at ?? [];
    expect(Math.hypot(x - 14, y - 14)).toBeLessThan(3);
    const views = findings[0]?.views ?? [];
    expect(views).toHaveLength(2);
    for (const { png } of views) expect((await sharp(Buffer.from(png, "base64")).metadata()).format).toBe("png");
    expect(views[0]?.png).not.toBe(views[1]?.png);
    expect((await made(body)).findings).toEqual(findings);
  });
});
