// The artwork that leaves a drawing, rendered by sharp (librsvg) and probed at places in millimetres.
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { pieceOf, type Read, svgMm } from "../support/kits.ts";

const drawn = ({ piece, findings }: Read) => {
  const artwork = piece?.artwork;
  if (artwork?.kind !== "drawing") throw new Error(`no drawn artwork: ${JSON.stringify(findings)}`);
  return artwork;
};

/** Colours at places in mm of the drawing, as `#rrggbb` or `none`, rendered at `density` px per inch the way prepress does. */
const probe = async (read: Read, places: readonly (readonly [number, number])[], pxPerMm = 8): Promise<string[]> => {
  const { svg, box } = drawn(read);
  const [width, height] = [Math.round((box.width / 1000) * pxPerMm), Math.round((box.height / 1000) * pxPerMm)];
  const sized = svg.replace(/^<svg([^>]*?) width="[^"]*" height="[^"]*"/, `<svg$1 width="${width}" height="${height}"`);
  const { data, info } = await sharp(Buffer.from(sized)).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
  expect([info.width, info.height]).toEqual([width, height]);
  return places.map(([x, y]) => {
    const i = 4 * (Math.floor((y - box.y / 1000) * pxPerMm) * width + Math.floor((x - box.x / 1000) * pxPerMm));
    if ((data[i + 3] ?? 0) < 128) return "none";
    return `#${[0, 1, 2].map((k) => (data[i + k] ?? 0).toString(16).padStart(2, "0")).join("")}`;
  });
};

const CUT = '<path id="cut" d="M0 0H100V50H0Z" fill="none" stroke="#f00" stroke-width="4"/>';

describe("artwork of a drawing", () => {
  it("is 1 root unit to the millimetre, so any density finds the places", async () => {
    const read = await pieceOf(svgMm(100, 50, `${CUT}<rect x="20" y="10" width="10" height="5" fill="#00f"/>`));
    expect(drawn(read).svg).toMatch(
      /^<svg xmlns="http:\/\/www.w3.org\/2000\/svg" width="120" height="70" viewBox="-10 -10 120 70">/,
    );
    expect(drawn(read).box).toEqual({ x: -10_000, y: -10_000, width: 120_000, height: 70_000 });
    for (const pxPerMm of [2, 11.811])
      expect(
        await probe(
          read,
          [
            [21, 11],
            [29, 14],
            [19, 11],
            [31, 11],
            [21, 16],
          ],
          pxPerMm,
        ),
      ).toEqual(["#0000ff", "#0000ff", "none", "none", "none"]);
  });

  it("has no line in it, whatever paints it", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `<rect width="100" height="50" fill="#fff"/><g id="cut" fill="none" stroke="#f00" stroke-width="3"><path d="M0 0H100V50H0Z"/><circle cx="50" cy="25" r="10" fill="#0f0"/></g>`,
      ),
    );
    expect(
      await probe(read, [
        [0.5, 25],
        [50, 25],
        [40, 25],
        [99.5, 0.5],
      ]),
    ).toEqual(["#ffffff", "#ffffff", "#ffffff", "#ffffff"]);
    expect(read.lines).toHaveLength(2);
  });

  it.each([
    ["mm", 'width="100mm" height="50mm" viewBox="0 0 100 50"', 'x="20" y="10" width="10" height="5"'],
    [
      "px",
      'width="377.9527559" height="188.97637795"',
      'x="75.5905512" y="37.7952756" width="37.7952756" height="18.8976378"',
    ],
    ["inner mm without a viewBox", 'width="100mm" height="50mm"', 'x="20mm" y="10mm" width="10mm" height="5mm"'],
    [
      "inner pt",
      'width="10cm" height="5cm"',
      'x="56.6929134pt" y="28.3464567pt" width="28.3464567pt" height="14.1732283pt"',
    ],
    [
      "inner in",
      'width="100mm" height="50mm"',
      'x=".787401575in" y=".393700787in" width=".393700787in" height=".196850394in"',
    ],
    ["percent", 'width="100mm" height="50mm" viewBox="0 0 1000 500"', 'x="20%" y="20%" width="10%" height="10%"'],
    [
      "a viewBox that moves",
      'width="100mm" height="50mm" viewBox="-100 -50 200 100"',
      'x="-60" y="-30" width="20" height="10"',
    ],
    ["a style", 'width="100mm" height="50mm"', 'style="x:20mm;y:10mm;width:10mm;height:5mm"'],
  ])("lies where it was drawn: %s", async (_, root, rect) => {
    const read = await pieceOf(
      `<svg xmlns="http://www.w3.org/2000/svg" ${root}><path id="cut" d="M0 0h9v9h-9z"/><rect ${rect} fill="#00f"/></svg>`,
    );
    expect(
      await probe(read, [
        [20.3, 10.3],
        [29.7, 14.7],
        [19.7, 12],
        [30.3, 12],
        [25, 9.7],
        [25, 15.3],
      ]),
    ).toEqual(["#0000ff", "#0000ff", "none", "none", "none", "none"]);
  });

  it("resolves physical stroke widths and type sizes of styles", async () => {
    const read = await pieceOf(
      `<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm"><style>.w{stroke-width:4mm;stroke:#00f}</style><path id="cut" d="M0 0h9v9h-9z"/><line class="w" x1="10mm" y1="20mm" x2="60mm" y2="20mm"/></svg>`,
    );
    expect(
      await probe(read, [
        [30, 18.3],
        [30, 21.7],
        [30, 17.7],
        [30, 22.3],
      ]),
    ).toEqual(["#0000ff", "#0000ff", "none", "none"]);
  });

  it("keeps what lies beyond the drawing's edge, for the designer's own bleed", async () => {
    const read = await pieceOf(svgMm(100, 50, `${CUT}<rect x="-3" y="-3" width="106" height="56" fill="#0a0"/>`));
    expect(
      await probe(read, [
        [-2.7, -2.7],
        [102.7, 52.7],
        [-3.3, 10],
        [103.3, 10],
      ]),
    ).toEqual(["#00aa00", "#00aa00", "none", "none"]);
  });

  it("letterboxes and slices as preserveAspectRatio says", async () => {
    const square = (fit: string) =>
      pieceOf(
        `<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" viewBox="0 0 10 10" preserveAspectRatio="${fit}"><path id="cut" d="M1 1h8v8h-8z"/><rect x="1" y="1" width="8" height="8" fill="#00f"/></svg>`,
      );
    const places = [
      [26, 25],
      [31, 25],
      [69, 25],
      [76, 25],
      [11, 25],
    ] as const;
    expect(await probe(await square("xMidYMid"), places)).toEqual(["none", "#0000ff", "#0000ff", "none", "none"]);
    expect(await probe(await square("none"), places)).toEqual(["#0000ff", "#0000ff", "#0000ff", "#0000ff", "#0000ff"]);
    expect(await probe(await square("xMinYMin"), places)).toEqual(["#0000ff", "#0000ff", "none", "none", "#0000ff"]);
  });

  it("keeps the cascade of the whole drawing after lines are out", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `<style>rect:nth-of-type(2){fill:#0f0 !important} .b{fill:#00f} rect{fill:#f00} #z{fill:#123456} @media print{rect{fill:#fff !important}} @media screen{.s{fill:#abcdef}}</style>
        <rect class="line" width="100" height="50"/><rect class="b" x="10" y="10" width="9" height="9" style="fill:#000"/>
        <rect class="b" x="30" y="10" width="9" height="9" fill="#999"/><rect x="50" y="10" width="9" height="9" fill="#999"/>
        <rect id="z" class="b" x="70" y="10" width="9" height="9"/><rect class="s" x="85" y="10" width="9" height="9"/>`,
      ),
      { lines: { cutting: ".line" } },
    );
    expect(
      await probe(read, [
        [14, 14],
        [34, 14],
        [54, 14],
        [74, 14],
        [89, 14],
      ]),
    ).toEqual(["#00ff00", "#0000ff", "#ff0000", "#123456", "#abcdef"]);
  });

  it("keeps a cutting contour that clips the artwork, out of sight", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `<defs><clipPath id="c"><use href="#cut"/></clipPath></defs><g clip-path="url(#c)"><rect x="-9" y="-9" width="200" height="100" fill="#00f"/></g><circle id="cut" cx="50" cy="25" r="20" fill="#f00"/>`,
      ),
    );
    expect(
      await probe(read, [
        [50, 25],
        [50, 6],
        [50, 4],
        [20, 25],
      ]),
    ).toEqual(["#0000ff", "#0000ff", "none", "none"]);
  });

  it("draws no line through use, but draws shapes that only stand in a line group", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `<g id="cut"><path id="p" d="M0 0h20v20h-20z" fill="#f00"/></g><use href="#cut" x="30"/><use href="#p" x="60" y="20"/>`,
      ),
    );
    expect(read.lines).toHaveLength(2);
    expect(
      await probe(read, [
        [5, 5],
        [35, 5],
        [65, 25],
      ]),
    ).toEqual(["none", "none", "#ff0000"]);
  });

  it("is the selected part only, with its ancestors' transforms and what it refers to", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `<g transform="translate(10 0)" fill="#0f0"><g id="art"><rect width="10" height="10"/><use href="#shape" x="20"/><rect y="20" width="10" height="10" fill="url(#g)"/></g><rect id="shape" x="0" y="30" width="10" height="10"/></g>
        <linearGradient id="g"><stop stop-color="#00f"/></linearGradient><rect x="80" y="0" width="10" height="10" fill="#000"/>${CUT}`,
      ),
      { artwork: "#art" },
    );
    expect(
      await probe(read, [
        [15, 5],
        [35, 35],
        [15, 35],
        [15, 25],
        [85, 5],
      ]),
    ).toEqual(["#00ff00", "#00ff00", "none", "#0000ff", "none"]);
  });

  it("keeps pictures that are embedded", async () => {
    const png = await sharp({ create: { width: 4, height: 4, channels: 3, background: "#0000ff" } })
      .png()
      .toBuffer();
    const image = `<image x="20" y="10" width="10" height="10" href="data:image/png;base64,${png.toString("base64")}"/>`;
    const read = await pieceOf(svgMm(100, 50, CUT + image));
    expect(
      await probe(read, [
        [25, 15],
        [35, 15],
      ]),
    ).toEqual(["#0000ff", "none"]);
  });

  it("is the same from each switch branch", async () => {
    const read = await pieceOf(
      svgMm(
        100,
        50,
        `${CUT}<switch><g requiredExtensions="x"><rect width="9" height="9" fill="#f00"/></g><g><rect width="9" height="9" fill="#00f"/></g></switch>`,
      ),
    );
    expect(await probe(read, [[4, 4]])).toEqual(["#0000ff"]);
  });

  it.each([
    ["nothing left", ""],
    ["no paint", '<rect width="9" height="9" fill="none"/>'],
    ["hidden", '<g display="none"><rect width="9" height="9"/></g>'],
    [
      "invisible by a style",
      '<style>.n{fill:none;stroke:#000;stroke-width:0}</style><rect class="n" width="9" height="9"/>',
    ],
    ["an empty text", "<text> </text>"],
    ["only definitions", '<defs><rect width="9" height="9"/></defs>'],
  ])("is null when there is no ink: %s", async (_, inner) => {
    const { piece, rules } = await pieceOf(svgMm(100, 50, CUT + inner));
    expect(rules).toEqual([]);
    expect(piece?.artwork).toBeNull();
  });

  it("is a finding when a selector asks for it and there is no ink", async () => {
    const { rules } = await pieceOf(svgMm(100, 50, `${CUT}<g id="art"/>`), { artwork: "#art" });
    expect(rules).toEqual(["artwork-empty"]);
  });

  it("warns of strokes that do not scale with the drawing", async () => {
    const line = (more: string) => pieceOf(svgMm(100, 50, `${CUT}<path d="M0 0H9" stroke="#000" ${more}/>`));
    expect((await line('vector-effect="non-scaling-stroke"')).findings).toMatchObject([
      { rule: "stroke-not-scaling", level: "warning", message: expect.stringContaining("<path>") },
    ]);
    expect((await line('vector-effect="none"')).rules).toEqual([]);
  });

  it("says which texts are still type and where, for prepress to set", async () => {
    const { piece } = await pieceOf(
      svgMm(100, 50, `${CUT}<g transform="translate(3 4)"><text id="t" x="1" y="20">Harbour</text></g>`),
    );
    expect(piece?.artwork).toMatchObject({ texts: [{ name: '<text id="t">', at: [4, 24] }] });
  });
});
