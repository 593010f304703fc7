// Drawings that stay vectors, as other hands draw them: resvg draws the SVG; poppler and Ghostscript draw the page made of it.
import { type Press } from "@kitforme/kit";
import { prepare } from "@kitforme/prepress";
import { Resvg } from "@resvg/resvg-js";
import { describe, expect, it } from "vitest";
import { ghostscript, has, type Pixels, plates, poppler, sampleAt } from "../../support/oracle.ts";
import { placed, sheetOf } from "../../support/sheets.ts";
import { writePrint } from "@kitforme/files";
import { outputProfile } from "@kitforme/prepress";
import { drawing, file, piece, prepareInPixels, press } from "../artwork-samples.ts";

const vector = async (body: string, colour: Press["colour"] = "rgb") => {
  const { value, findings } = await prepare(piece(drawing(body)), press(colour));
  const layer = value?.layers.find(({ kind }) => kind === "page");
  if (layer?.kind !== "page") throw new Error(JSON.stringify(findings));
  return { layer, findings };
};

const PPI = 254;
/** Levels that smoothing of an edge may leave beside a pixel whose neighbours have the colour. */
const STRAY = 12;

/** Share of pixels whose colour the other has nowhere in the nine pixels there: edges are smoothed in many ways. */
const unlike = (a: Pixels, b: Pixels): number => {
  expect(Math.abs(a.width - b.width) <= 1 && Math.abs(a.height - b.height) <= 1).toBe(true);
  const [width, height] = [Math.min(a.width, b.width), Math.min(a.height, b.height)];
  const outside = (one: Pixels, other: Pixels, x: number, y: number): boolean => {
    for (let channel = 0; channel < 3; channel++) {
      const value = one.data[(y * one.width + x) * one.channels + channel] as number;
      let [least, most] = [255, 0];
      for (let row = Math.max(0, y - 1); row <= Math.min(height - 1, y + 1); row++)
        for (let column = Math.max(0, x - 1); column <= Math.min(width - 1, x + 1); column++) {
          const near = other.data[(row * other.width + column) * other.channels + channel] as number;
          least = Math.min(least, near);
          most = Math.max(most, near);
        }
      if (value < least - STRAY || value > most + STRAY) return true;
    }
    return false;
  };
  let found = 0;
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) if (outside(a, b, x, y) || outside(b, a, x, y)) found++;
  return found / (width * height);
};

/** The drawing in a box of micrometres, on paper. */
const drawnByResvg = (
  body: string,
  box: { readonly x: number; readonly y: number; readonly width: number; readonly height: number },
): Pixels => {
  const [x, y, width, height] = [box.x, box.y, box.width, box.height].map((um) => um / 1000) as [
    number,
    number,
    number,
    number,
  ];
  const [wide, high] = [Math.round(width * 10), Math.round(height * 10)];
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="${wide}" height="${high}" viewBox="${x} ${y} ${width} ${height}">${body}</svg>`;
  const image = new Resvg(svg, { background: "#ffffff", font: { loadSystemFonts: false } }).render();
  return { width: image.width, height: image.height, channels: 4, data: image.pixels };
};

const ground = '<path d="M-5-5h30v30h-30z" fill="#f4e9d0"/>';
const stops =
  '<stop offset=".1" stop-color="#c33"/><stop offset=".6" stop-color="#fc6"/><stop offset="1" stop-color="#136"/>';

const drawings: Readonly<Record<string, string>> = {
  "paths by both rules": `${ground}<path d="M10 1L15 17L2 7H18L5 17Z" fill="#a11" fill-rule="evenodd"/><path d="M10 12l2 5-4-3h5z" fill="#1a1"/>`,
  "lines with dashes, corners and ends": `${ground}<g fill="none" stroke="#135" stroke-width="1.2"><path d="M2 3h16" stroke-dasharray="2 1 .5" stroke-dashoffset="-1.3"/><path d="M2 8l4-3 4 3 4-3 4 3" stroke-linejoin="round" stroke-linecap="round"/><path d="M2 12l4-3 4 3 4-3 4 3" stroke-linejoin="bevel" stroke-linecap="square"/><path d="M3 18l4-4.5.8 4.5 3-4.5" stroke-miterlimit="10"/><path d="M13 17h5" stroke-width="2" stroke-dasharray="0 3" stroke-linecap="round"/></g>`,
  "paint order and see-through lines": `${ground}<circle cx="7" cy="10" r="4" fill="#e90" stroke="#037" stroke-width="2" paint-order="stroke"/><circle cx="14" cy="10" r="4" fill="#e90" fill-opacity=".5" stroke="#037" stroke-width="2" stroke-opacity=".4"/>`,
  "transforms, uneven ones too": `${ground}<g transform="translate(10 10) rotate(30) scale(1.5 .6) skewX(12)"><rect x="-5" y="-5" width="10" height="10" rx="2" fill="#284" stroke="#fff" stroke-width="1.5" stroke-dasharray="3 1"/></g>`,
  "linear gradients": `${ground}<defs><linearGradient id="a">${stops}</linearGradient><linearGradient id="b" href="#a" gradientUnits="userSpaceOnUse" x1="3" y1="12" x2="8" y2="14" spreadMethod="reflect"/><linearGradient id="c" href="#a" x1=".2" x2=".4" spreadMethod="repeat" gradientTransform="rotate(25)"/></defs><rect x="1" y="1" width="18" height="6" fill="url(#a)"/><rect x="1" y="8" width="18" height="5" fill="url(#b)"/><rect x="1" y="14" width="18" height="5" fill="none" stroke-width="1.5" stroke="url(#c)"/>`,
  "radial gradients": `${ground}<defs><radialGradient id="a" fx=".3" fy=".4">${stops}</radialGradient><radialGradient id="b" gradientUnits="userSpaceOnUse" cx="14" cy="14" r="2" spreadMethod="repeat"><stop stop-color="#c33"/><stop offset=".5" stop-color="#fc6"/><stop offset="1" stop-color="#c33"/></radialGradient></defs><rect x="1" y="1" width="18" height="7" fill="url(#a)"/><circle cx="14" cy="14" r="5" fill="url(#b)"/><path d="M2 10h5v8z" fill="url(#a)"/>`,
  "a gradient with hard steps": `${ground}<defs><linearGradient id="a"><stop offset=".2" stop-color="#c33"/><stop offset=".5" stop-color="#c33"/><stop offset=".5" stop-color="#36c"/><stop offset="1" stop-color="#36c"/><stop offset="1" stop-color="#ff0"/></linearGradient></defs><rect x="2" y="2" width="16" height="16" fill="url(#a)"/>`,
  clips: `${ground}<defs><clipPath id="a"><path d="M10 1L15 17L2 7H18L5 17Z" clip-rule="evenodd"/></clipPath><clipPath id="b" clipPathUnits="objectBoundingBox"><circle cx=".25" cy=".5" r=".2"/><rect x=".5" width=".4" height="1"/></clipPath></defs><g clip-path="url(#a)"><path d="M0 0h20v20H0z" fill="#285"/><g clip-path="url(#b)"><rect y="3" x="2" width="16" height="12" fill="#fd0"/></g></g>`,
  "groups that are seen through": `${ground}<g opacity=".5"><rect x="2" y="2" width="10" height="10" fill="#c00"/><rect x="6" y="6" width="12" height="12" fill="#00c"/><g opacity=".6" transform="rotate(8)"><circle cx="9" cy="6" r="4" fill="#fff"/><circle cx="12" cy="6" r="4" fill="#0a0"/></g></g>`,
  "symbols and uses": `${ground}<defs><symbol id="s" viewBox="0 0 10 10"><circle cx="5" cy="5" r="6" fill="#936"/></symbol><path id="p" d="M0 0q2-4 4 0t4 0v3H0z"/></defs><use href="#s" x="1" y="1" width="8" height="8"/><use href="#p" x="10" y="5" fill="#369"/><use href="#p" transform="translate(4 14) scale(1.4 .8)" fill="none" stroke="#963" stroke-linejoin="round"/>`,
};

describe.each(Object.entries(drawings))("%s", (_, body) => {
  it.runIf(has("pdftoppm") && has("gs"))("look the same in other programs", async () => {
    const { layer } = await vector(body);
    const wanted = drawnByResvg(body, layer.box);
    expect(unlike(poppler(layer.page.bytes, PPI), wanted)).toBeLessThan(0.01);
    expect(unlike(ghostscript(layer.page.bytes, PPI), wanted)).toBeLessThan(0.01);
  });
});

/** A sheet with the piece's upper left corner 40 mm from the left and 100 mm from below. */
const printed = async (body: string, prepared = prepare, colour: Press["colour"] = "cmyk"): Promise<Uint8Array> => {
  const { value, findings } = await prepared(piece(drawing(body)), press(colour));
  if (!value) throw new Error(JSON.stringify(findings));
  return writePrint(sheetOf([placed(1, value, 0, [40, 100], [])]), {
    title: "t",
    profile: outputProfile(press(colour)),
  });
};

/** Solids and slow gradients are asked for in their middles. */
const COARSE = 100;

const INKS = ["Cyan", "Magenta", "Yellow", "Black"];

describe("inks", () => {
  const patches = ["#1b6fa8", "#e2231a", "#000000", "#101010", "#ffffff", "#7a7a7a", "#05f0c0", "#ffd200", "#2b1810"];
  const solids = `${ground}${patches.map((fill, i) => `<rect x="${1 + 6 * (i % 3)}" y="${1 + 6 * Math.floor(i / 3)}" width="5" height="5" fill="${fill}"/>`).join("")}`;
  const middles = patches.map((_, i) => [40 + 3.5 + 6 * (i % 3), 100 - 3.5 - 6 * Math.floor(i / 3)] as const);

  it.runIf(has("gs"))("of solids are those of the same colours as pixels", async () => {
    const [lines, pixels] = [
      plates(await printed(solids), COARSE),
      plates(await printed(solids, prepareInPixels), COARSE),
    ];
    for (const ink of INKS)
      for (const [x, y] of middles) {
        const [one, other] = [lines, pixels].map((all) => sampleAt(all[ink] as Pixels, COARSE, x, y)[0] as number);
        expect(one).toBe(other);
      }
    // Pure black is black ink alone, either way.
    const [x, y] = middles[2] as readonly [number, number];
    expect(INKS.map((ink) => sampleAt(lines[ink] as Pixels, COARSE, x, y)[0])).toEqual([255, 255, 255, 0]);
  });

  it.runIf(has("gs"))("of a gradient are within two levels of its pixels", async () => {
    const body = `<defs><linearGradient id="a">${stops}</linearGradient></defs><rect x="-5" y="-5" width="30" height="30" fill="url(#a)"/>`;
    const [lines, pixels] = [plates(await printed(body), COARSE), plates(await printed(body, prepareInPixels), COARSE)];
    for (const ink of INKS)
      for (let x = 42; x < 58; x += 0.4) {
        const [one, other] = [lines, pixels].map((all) => sampleAt(all[ink] as Pixels, COARSE, x, 90)[0] as number);
        expect(Math.abs((one as number) - (other as number)), `${ink} at ${x}`).toBeLessThanOrEqual(2);
      }
  });

  it("are grey alone on a grey press, and no page has a space that its press has not", async () => {
    const body = `${ground}<g opacity=".5"><circle cx="8" cy="8" r="4" fill="#c00"/><circle cx="11" cy="8" r="4" fill="#00c"/></g>`;
    const space = async (colour: Press["colour"]) =>
      Buffer.from((await vector(body, colour)).layer.page.bytes).toString("latin1");
    expect(await space("grey")).toMatch(/\/CS \/DeviceGray/);
    expect(await space("grey")).not.toMatch(/DeviceRGB|DeviceCMYK|ICCBased/);
    expect(await space("cmyk")).toMatch(/\/CS \/DeviceCMYK/);
    expect(await space("cmyk")).not.toMatch(/DeviceRGB|ICCBased/);
  });
});

describe("the ring", () => {
  it.runIf(has("gs") && has("pdftoppm"))("meets the drawing without a gap, right across the cut", async () => {
    // Three layers that end where the cut is, and one that goes on beyond it.
    const body = `<path d="M0 0h20v20H0z" fill="#fff"/><path d="M0 0h20v20H0z" fill="#f7cf7a"/><path d="M0 0h20v20H0z" fill="#14304d"/><path d="M12-4h5v28h-5z" fill="#14304d"/>`;
    const sheet = await printed(body);
    const cyan = plates(sheet, PPI)["Cyan"] as Pixels;
    const seen = poppler(sheet, PPI);
    for (const y of [84.05, 90, 95.95]) {
      const inside = sampleAt(cyan, PPI, 50, 90)[0] as number;
      const colour = sampleAt(seen, PPI, 50, 90);
      for (const [from, to] of [
        [38.3, 41.5],
        [58.5, 61.7],
      ] as const)
        for (let x = from; x < to; x += 0.05) {
          expect(Math.abs((sampleAt(cyan, PPI, x, y)[0] as number) - inside), `cyan at ${x}`).toBeLessThanOrEqual(3);
          for (const [i, level] of sampleAt(seen, PPI, x, y).entries())
            expect(Math.abs(level - (colour[i] as number)), `light at ${x}`).toBeLessThanOrEqual(4);
        }
    }
  });
});

describe("what stays pixels is named, and where it is", () => {
  const filter = '<filter id="f"><feGaussianBlur stdDeviation="1"/></filter>';
  const png = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==";
  it.each([
    ["an effect (filter)", `${filter}<g filter="url(#f)"><circle cx="6" cy="8" r="3"/></g>`, [6, 8]],
    [
      "a mask",
      '<mask id="m"><rect width="20" height="20" fill="#888"/></mask><circle mask="url(#m)" cx="6" cy="8" r="3"/>',
      [6, 8],
    ],
    [
      "a pattern",
      '<pattern id="p" width=".2" height=".2"><path d="M0 0h1v1z"/></pattern><circle cx="6" cy="8" r="3" fill="url(#p)"/>',
      [6, 8],
    ],
    ["the blend mode multiply", '<circle style="mix-blend-mode:multiply" cx="6" cy="8" r="3"/>', [6, 8]],
    ["a picture in it", `<image x="4" y="6" width="4" height="4" href="data:image/png;base64,${png}"/>`, [6, 8]],
    [
      "a gradient that fades to nothing",
      '<linearGradient id="g"><stop stop-color="#f00"/><stop offset="1" stop-opacity="0"/></linearGradient><circle cx="6" cy="8" r="3" fill="url(#g)"/>',
      [6, 8],
    ],
    [
      "a clip of shapes that overlap",
      '<clipPath id="c"><circle cx="6" cy="8" r="3"/><circle cx="8" cy="8" r="3"/></clipPath><path clip-path="url(#c)" d="M0 0h20v20z"/>',
      [8, 8],
    ],
    [
      "colours seen through others",
      '<circle cx="6" cy="8" r="3" fill="#0b0"/><circle cx="6" cy="8" r="3" fill="#c0c" opacity=".5"/>',
      [6, 8],
    ],
  ])("%s", async (what, body, at) => {
    const { value, findings } = await prepare(piece(drawing(ground + body)), press());
    const found = findings.filter(({ rule }) => rule === "drawing-pixels");
    expect(found).toHaveLength(1);
    expect(found[0]?.message).toContain(what);
    expect(found[0]?.level).toBe("note");
    const [x, y] = found[0]?.where.at ?? [0, 0];
    expect(Math.hypot(x - (at[0] as number), y - (at[1] as number))).toBeLessThan(0.05);
    expect(value?.layers.every(({ kind }) => kind === "raster")).toBe(true);
  });

  it("is also what the two renderers of pixels and pages see differently", async () => {
    // Crisp edges are an instruction to pixels: of lines finer than they are wide, a page keeps what pixels drop.
    const { whereUnlike } = await import("../../../packages/prepress/src/vector/looks-alike.ts");
    const view = (paint: (x: number, y: number) => number) => ({
      width: 60,
      height: 40,
      rgb: Uint8Array.from({ length: 60 * 40 * 3 }, (_, i) => paint(Math.floor(i / 3) % 60, Math.floor(i / 180))),
    });
    const plain = view((x) => (x < 30 ? 255 : 40));
    expect(
      whereUnlike(
        plain,
        view((x) => (x < 29 ? 255 : 40)),
      ),
    ).toBeUndefined();
    const [x, y] =
      whereUnlike(
        plain,
        view((x, y) => (x < 30 && !(x > 9 && x < 16 && y > 19 && y < 26) ? 255 : 40)),
      ) ?? [];
    expect([Math.round((x ?? 0) * 60), Math.round((y ?? 0) * 40)]).toEqual([13, 23]);
  });
});

describe("lines too thin for a press", () => {
  it("are warned of with their number, the thinnest and its place, as in a PDF", async () => {
    const body =
      '<path d="M-9-9h38v38h-38z" fill="#fff"/><path d="M4 5H16" stroke="#000" stroke-width=".05"/>' +
      '<g transform="scale(.1)"><path d="M40 80H160" stroke="#000" stroke-width=".9"/></g><path d="M4 12H16" stroke="#000" stroke-width=".1"/>' +
      '<path d="M90 5H99" stroke="#000" stroke-width=".01"/>';
    const { value, findings } = await prepare(piece(drawing(body)), press());
    expect(value?.layers.some(({ kind }) => kind === "page")).toBe(true);
    expect(findings.filter(({ rule }) => rule === "artwork-line-thin")).toMatchObject([
      { level: "warning", where: { at: [4, 5] }, message: expect.stringMatching(/thin as 0\.05 mm are drawn 2 times/) },
    ]);
  });
});

describe("the page", () => {
  it("has the same bytes every time, and none of a clock's", async () => {
    const body = drawings["linear gradients"] as string;
    const [one, other] = [await vector(body, "cmyk"), await vector(body, "cmyk")];
    expect(Buffer.compare(Buffer.from(one.layer.page.bytes), Buffer.from(other.layer.page.bytes))).toBe(0);
    expect(one.layer.page.id).toBe(other.layer.page.id);
  });

  it("of a file of SVG shows no more than its view", async () => {
    const svg = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><path d="M-9-9h40v40h-40z" fill="#28a"/></svg>`;
    const box = { x: 5000, y: 5000, width: 10_000, height: 10_000 };
    const { value } = await prepare(piece(file("svg", Buffer.from(svg), box)), press());
    const layer = value?.layers.find(({ kind }) => kind === "page");
    expect(layer?.box.x).toBe(5000);
    expect(layer?.box.width).toBeCloseTo(10_000, -2);
  });
});
