import { describe, expect, it } from "vitest";
import {
  drawing,
  file,
  piece,
  press,
  rasterOf,
  square,
  valuesAt,
  prepareInPixels as prepare,
} from "./artwork-samples.ts";

const svg = (root: string, body: string): Uint8Array =>
  Buffer.from(
    `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" ${root}>${body}</svg>`,
  );
const rgb = press("rgb");
const layersOf = async (...args: Parameters<typeof prepare>) => (await prepare(...args)).value?.layers ?? [];
const rules = async (...args: Parameters<typeof prepare>): Promise<string[]> =>
  (await prepare(...args)).findings.map(({ level, rule }) => `${level} ${rule}`);

describe("a drawing", () => {
  it("is drawn at the press's resolution, pixel by pixel where its millimetres are", async () => {
    const layers = await layersOf(
      piece(drawing('<path d="M-9-9h38v38h-38z" fill="#0000ff"/><path d="M4 5h6v7h-6z" fill="#ff0000"/>')),
      rgb,
    );
    const { width } = rasterOf(layers[0]);
    expect(width).toBeGreaterThanOrEqual(240);
    const red = [255, 0, 0];
    const blue = [0, 0, 255];
    // One pixel is 0.1 mm; both sides of each edge.
    expect([3.95, 4.05, 9.95, 10.05].map((x) => [...(valuesAt(layers, x, 8) as number[])])).toEqual([
      blue,
      red,
      red,
      blue,
    ]);
    expect([4.95, 5.05, 11.95, 12.05].map((y) => [...(valuesAt(layers, 7, y) as number[])])).toEqual([
      blue,
      red,
      red,
      blue,
    ]);
  });

  it("keeps what is drawn past its own edge as bleed", async () => {
    const { value } = await prepare(
      piece(drawing('<path d="M0 0h20v20h-20z" fill="#00ff00"/><path d="M20 5h4v10h-4z" fill="#ff0000"/>')),
      rgb,
    );
    expect(valuesAt(value?.layers ?? [], 21.5, 10)).toEqual([255, 0, 0]);
    expect(valuesAt(value?.layers ?? [], 21.5, 2)).toEqual([0, 255, 0]);
    // 2 mm by 10 mm of the band.
    expect((value?.bleed?.own ?? 0) / 1e6).toBeCloseTo(20, 0);
  });

  it("means 1/25.4 inch of 96 pixels by a millimetre within", async () => {
    // 37.795 user units of the drawing are 10 mm of CSS; with one unit to a millimetre it ends at 5.67.
    const layers = await layersOf(
      piece(
        drawing('<path d="M-9-9h38v38h-38z" fill="#fff"/><rect x="1" y="1" width="1.5mm" height="9" fill="#f00"/>'),
      ),
      rgb,
    );
    // 1.5 mm = 5.669 px, from 1.
    expect([6.55, 6.75].map((x) => valuesAt(layers, x, 5))).toEqual([
      [255, 0, 0],
      [255, 255, 255],
    ]);
  });

  it("gives paper for what it leaves out, and says how much at the outline", async () => {
    const { value, findings } = await prepare(piece(drawing('<path d="M0 0h20v15h-20z" fill="#0a0"/>')), rgb);
    expect(valuesAt(value?.layers ?? [], 10, 18)).toEqual([255, 255, 255]);
    const [short] = findings;
    expect(short).toMatchObject({ level: "warning", rule: "artwork-short" });
    expect(short?.message).toMatch(/along (?:29|30) of (?:79|80) mm:/);
    expect(short?.where.at?.[1]).toBeGreaterThan(15);
  });

  it("is carried out to the cut over the piece's gap, silently, and over no more: then the edge is paper", async () => {
    const art = drawing('<path d="M.5.5h19v19h-19z" fill="#0a0"/>');
    const { value, findings } = await prepare(piece(art, { gap: 500 }), rgb);
    expect(findings).toEqual([]);
    for (const x of [0.05, -1.5, 19.95, 21.5]) expect(valuesAt(value?.layers ?? [], x, 10)).toEqual([0, 170, 0]);
    const paper = await prepare(piece(art), rgb);
    expect(paper.findings).toMatchObject([{ level: "note", rule: "artwork-inside" }]);
    expect(paper.findings[0]?.message).toContain("0.3 mm");
    for (const x of [0.05, -1.5, 19.95, 21.5])
      expect(valuesAt(paper.value?.layers ?? [], x, 10)).toEqual([255, 255, 255]);
  });

  it("counts translucent paint as printed, and bleeds its tint", async () => {
    const { value, findings } = await prepare(
      piece(drawing('<path d="M0 0h20v20h-20z" fill="#ff0000" fill-opacity=".5"/>')),
      rgb,
    );
    expect(findings).toEqual([]);
    const [inside, bleed] = [valuesAt(value?.layers ?? [], 10, 10), valuesAt(value?.layers ?? [], 21.5, 10)];
    expect(inside).toEqual([255, 127, 127]);
    expect(bleed).toEqual(inside);
  });

  it("spreads no fringe: a smoothed edge gives pure colour beyond the cut", async () => {
    const parts = [{ outer: square(3.03, 3.03, 13.94), openings: [] }];
    const layers = await layersOf(
      piece(drawing('<path d="M3.03 3.03h13.94v13.94h-13.94z" fill="#036"/>'), { parts }),
      rgb,
    );
    for (const x of [1.5, 2.9, 3.02, 3.08, 3.2, 10]) expect(valuesAt(layers, x, 10)).toEqual([0, 51, 102]);
  });

  it("clipped to its outline shows nothing of its lower layers along the cut", async () => {
    // librsvg smooths the clip of every layer by itself: one pixel of edge gets a share of navy under the cream.
    const clip = '<clipPath id="c"><circle cx="10" cy="10" r="8.03"/></clipPath>';
    const layers = ["#001040", "#fbf5e6", "#fbf5e6"].map((fill) => `<rect width="20" height="20" fill="${fill}"/>`);
    const outer = Array.from({ length: 90 }, (_, at) => ({
      x: Math.round(10_000 + 8030 * Math.cos((at * Math.PI) / 45)),
      y: Math.round(10_000 + 8030 * Math.sin((at * Math.PI) / 45)),
    }));
    const art = drawing(`${clip}<g clip-path="url(#c)">${layers.join("")}</g>`);
    const { value } = await prepare(piece(art, { parts: [{ outer, openings: [] }] }), rgb);
    const raster = rasterOf(value?.layers[0]);
    const { x, y, width } = value?.layers[0]?.box ?? { x: 0, y: 0, width: 0 };
    let cream = 0;
    for (let pixel = 0; pixel < raster.width * raster.height; pixel++) {
      const [column, row] = [pixel % raster.width, Math.floor(pixel / raster.width)];
      const step = width / raster.width;
      const out = Math.hypot(x + (column + 0.5) * step - 10_000, y + (row + 0.5) * step - 10_000);
      // All but the outermost half pixel of the reach.
      if (out > 9950) continue;
      expect([...raster.data.bytes.subarray(pixel * 3, pixel * 3 + 3)]).toEqual([251, 245, 230]);
      cream++;
    }
    expect(cream).toBeGreaterThan(30_000);
  });

  it("keeps a thin line along its edge, and its colour beyond the cut", async () => {
    // 0.2 mm of black, two pixels, inside the cut of a red square.
    const art =
      '<path d="M3.03 3.03h13.94v13.94h-13.94z" fill="#c00"/><path d="M3.13 3.13h13.74v13.74h-13.74z" fill="none" stroke="#000" stroke-width=".2"/>';
    const parts = [{ outer: square(3.03, 3.03, 13.94), openings: [] }];
    const layers = await layersOf(piece(drawing(art), { parts }), rgb);
    for (const x of [1.5, 2.5, 3.08]) expect(Math.max(...(valuesAt(layers, x, 10) as number[]))).toBeLessThan(70);
    expect(valuesAt(layers, 3.45, 10)).toEqual([204, 0, 0]);
  });

  it("without any paint is a piece that is cut only", async () => {
    const { value, findings } = await prepare(piece(drawing("<g/>")), rgb);
    expect(findings).toMatchObject([{ level: "warning", rule: "artwork-blank" }]);
    expect(value).toMatchObject({ layers: [], bleed: null, reach: piece(null).parts });
  });
});

describe("an SVG file", () => {
  it.each([
    ['viewBox="0 0 10 10"', 0.5],
    ['width="10mm" height="10mm" viewBox="0 0 10 10"', 0.5],
    ['width="100" height="100" viewBox="-5 -5 10 10" preserveAspectRatio="xMinYMin slice"', -4.5],
    ['width="2in" height="2in" style="width:50px;height:50px" viewBox="0 0 10 10"', 0.5],
  ])("fills its box whatever its root says: %s", async (root, start) => {
    const body = `<rect x="-9" y="-9" width="99" height="99" fill="#00f"/><rect x="${start}" y="${start}" width="1" height="1" fill="#f00"/>`;
    const layers = await layersOf(piece(file("svg", svg(root, body))), rgb);
    expect([0.95, 1.05, 2.95, 3.05].map((x) => (valuesAt(layers, x, 2) as number[])[0])).toEqual([0, 255, 255, 0]);
  });

  it("without a viewBox is as large as it says, in any unit", async () => {
    const body = '<rect width="100" height="100" fill="#00f"/><rect width="48" height="48" fill="#f00"/>';
    const layers = await layersOf(piece(file("svg", svg('width="1in" height="72pt"', body))), rgb);
    // 48 of 96 px: half of 20 mm.
    expect([9.95, 10.05].map((x) => (valuesAt(layers, x, 2) as number[])[0])).toEqual([255, 0]);
  });

  it("is stretched into a box of other proportions, with a warning", async () => {
    const body = '<rect width="20" height="10" fill="#0f0"/>';
    const found = await prepare(piece(file("svg", svg('viewBox="0 0 20 10"', body))), rgb);
    expect(found.findings).toMatchObject([{ level: "warning", rule: "artwork-stretched" }]);
    expect(found.findings[0]?.message).toContain("100.0 %");
    expect(valuesAt(found.value?.layers ?? [], 10, 19)).toEqual([0, 255, 0]);
  });

  it("may have a prologue, a prefix and a DOCTYPE without entities", async () => {
    const text = `<?xml version="1.0"?>\n<!-- <svg viewBox="0 0 1 1"> -->\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">
      <s:svg xmlns:s="http://www.w3.org/2000/svg" viewBox='0 0 20 20'><s:rect width="20" height="20" fill="#0f0"/></s:svg>`;
    expect(valuesAt(await layersOf(piece(file("svg", Buffer.from(text))), rgb), 10, 10)).toEqual([0, 255, 0]);
  });
});

describe("the encoding of an SVG file", () => {
  it("is the one it declares", async () => {
    // An id of "ö" in one byte: read as UTF-8, the reference would lead nowhere.
    const text = `<?xml version="1.0" encoding="ISO-8859-1"?><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><defs><rect id="\u00f6" width="20" height="20" fill="#0f0"/></defs><use href="#\u00f6"/></svg>`;
    for (const bytes of [Buffer.from(text, "latin1"), Buffer.from(text.replace("ISO-8859-1", "UTF-8"))])
      expect(valuesAt(await layersOf(piece(file("svg", bytes)), rgb), 10, 10)).toEqual([0, 255, 0]);
  });
});

describe("bad drawings", () => {
  const image = (href: string): string => `<rect width="20" height="20" fill="#0f0"/>${href}`;
  const root = 'viewBox="0 0 20 20"';

  it.each([
    ['<image href="photo.png" width="9" height="9"/>', "photo.png"],
    ['<image xlink:href="file:///etc/hostname" width="9" height="9"/>', "file:///etc/hostname"],
    ['<use href="https://example.org/a.svg#b"/>', "https://example.org/a.svg#b"],
    ["<style>@import 'more.css';</style>", "more.css"],
    ['<rect width="1" height="1" style="fill:url(other.svg#p)"/>', "other.svg#p"],
  ])("name what lies outside them: %s", async (body, address) => {
    const { value, findings } = await prepare(piece(file("svg", svg(root, image(body)))), rgb);
    expect(value).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "artwork-external-reference" }]);
    expect(findings[0]?.message).toContain(address);
  });

  it.each([
    '<a href="https://example.org"><rect width="1" height="1"/></a>',
    '<use href="#r"/><rect id="r" width="1" height="1" fill="url(#r)"/>',
    '<!-- <image href="photo.png"/> -->',
    '<image width="1" height="1" href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="/>',
  ])("but not what lies inside: %s", async (body) => {
    expect(await rules(piece(file("svg", svg(root, image(body)))), rgb)).toEqual([]);
  });

  it("with letters that name no font say what they are set in", async () => {
    expect(await rules(piece(file("svg", svg(root, image('<text y="9">letters</text>')))), rgb)).toEqual([
      "warning font-missing",
    ]);
  });

  it("with entities are refused, however deep they would grow", async () => {
    const laughs = `<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"><text>&b;</text></svg>`;
    expect(await rules(piece(file("svg", Buffer.from(laughs))), rgb)).toEqual(["error artwork-unreadable"]);
  });

  it.each([
    ["no size", svg("", "<g/>")],
    ["a size in per cent", svg('width="100%" height="100%"', "<g/>")],
    ["a viewBox that is none", svg('viewBox="0 0 0 NaN"', "<g/>")],
    ["another root", Buffer.from("<html><svg/></html>")],
    ["broken XML", svg(root, "<g><rect></g>")],
    ["nothing", Buffer.of()],
  ])("with %s are refused", async (_, bytes) => {
    expect(await rules(piece(file("svg", bytes)), rgb)).toEqual(["error artwork-unreadable"]);
  });

  it("are read in time that grows with their length only", async () => {
    const openings = `<svg viewBox="0 0 1 1">${"<!--".repeat(300_000)}${"<?xml-stylesheet ".repeat(100_000)}</svg>`;
    const addresses = `<svg viewBox="0 0 1 1"><g ${'xlink:href="a.png" '.repeat(300_000)}/></svg>`;
    const [first, second] = [Buffer.from(openings), Buffer.from(addresses)];
    const before = process.cpuUsage();
    expect(await rules(piece(file("svg", first)), rgb)).toEqual(["error artwork-unreadable"]);
    expect(await rules(piece(file("svg", second)), rgb)).toEqual(["error artwork-external-reference"]);
    // Minutes, if a search for an end began anew at every opening.
    expect(process.cpuUsage(before).user / 1e6).toBeLessThan(5);
  });

  it("that would be too many pixels are refused", async () => {
    const huge = [{ outer: square(0, 0, 5000), openings: [] }];
    expect(await rules(piece(drawing("<g/>"), { parts: huge }), rgb)).toEqual(["error artwork-oversized"]);
  });
});
