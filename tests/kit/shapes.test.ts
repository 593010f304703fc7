// Every SVG shape, unit and viewport to the millimetres it stands for. Oracle: hand-computed squares and circles.
import { area, perimeter } from "@kitforme/geometry";
import { describe, expect, it } from "vitest";
import { dots, pieceOf, svgMm } from "../support/kits.ts";

const SVG = 'xmlns="http://www.w3.org/2000/svg"';
const SQUARE = [
  [10, 20],
  [40, 20],
  [40, 50],
  [10, 50],
];

/** The points of a ring, begun at its least x, then least y, clockwise as drawn. */
const canonical = (ring: readonly (readonly number[])[]): string => {
  const sorted = [...ring].map((p) => p.map((n) => Math.round(n * 1000)).join(",")).sort();
  return sorted.join(" ");
};

// Standards sheet 16.13: one square, drawn with px, mm, pt, in, pc, cm, Q, viewBox scale, nested transforms, nested svg.
const SPELLINGS: Record<string, string> = {
  "mm through the viewBox": svgMm(100, 100, '<path id="cut" d="M10 20H40V50H10Z"/>'),
  "px, no viewBox": `<svg ${SVG} width="377.952755905511811" height="377.952755905511811"><path id="cut" transform="scale(3.7795275590551181)" d="M10 20h30v30h-30z"/></svg>`,
  "mm on the shape, no viewBox": `<svg ${SVG} width="100mm" height="100mm"><rect id="cut" x="10mm" y="20mm" width="30mm" height="30mm"/></svg>`,
  "cm and Q": `<svg ${SVG} width="10cm" height="400Q"><rect id="cut" x="1cm" y="80q" width="120Q" height="3cm"/></svg>`,
  pt: `<svg ${SVG} width="283.46456692913387pt" height="283.46456692913387pt" viewBox="0 0 283.46456692913387 283.46456692913387"><path id="cut" transform="scale(2.8346456692913384)" d="M10 20h30v30h-30z"/></svg>`,
  "in and pc": `<svg ${SVG} width="3.937007874015748in" height="23.62204724409449pc" viewBox="0 0 100 100"><rect id="cut" x="10" y="20" width="30" height="30"/></svg>`,
  "a viewBox that scales and moves": `<svg ${SVG} width="100mm" height="100mm" viewBox="-50 -50 1000 1000"><rect id="cut" x="50" y="150" width="300" height="300"/></svg>`,
  "percent of the viewBox": svgMm(100, 100, '<rect id="cut" x="10%" y="20%" width="30%" height="30%"/>'),
  "em of the type size": svgMm(
    100,
    100,
    '<g font-size="10"><rect id="cut" x="1em" y="2em" width="3em" height="3em"/></g>',
  ),
  "nested transforms": svgMm(
    100,
    100,
    '<g transform="translate(40 20)"><g transform="rotate(90)"><g transform="scale(2 -3)"><path id="cut" d="M0 0v10H15V0z"/></g></g></g>',
  ).replace("translate(40 20)", "translate(10 20)"),
  "a nested svg": svgMm(
    100,
    100,
    '<svg x="10" y="20" width="30" height="30" viewBox="0 0 3 3"><rect id="cut" width="3" height="3"/></svg>',
  ),
  "a symbol used": svgMm(
    100,
    100,
    '<symbol id="s" viewBox="0 0 6 6"><rect width="6" height="6"/></symbol><use id="cut" href="#s" x="10" y="20" width="30" height="30"/>',
  ),
  "xlink:href": `<svg ${SVG} xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" viewBox="0 0 100 100"><defs><rect id="r" width="30" height="30"/></defs><use id="cut" xlink:href="#r" x="10" y="20"/></svg>`,
  polygon: svgMm(100, 100, '<polygon id="cut" points="10,20 40 20,40,50 10-50"/>').replace("10-50", "10 50"),
  "polyline that returns": svgMm(100, 100, '<polyline id="cut" points="10 20 40 20 40 50 10 50 10 20"/>'),
  "four lines": svgMm(
    100,
    100,
    '<g id="cut"><line x1="10" y1="20" x2="40" y2="20"/><line x1="40" y1="50" x2="40" y2="20"/><line x1="40" y1="50" x2="10" y2="50"/><line x1="10" y1="20" x2="10" y2="50"/></g>',
  ),
  "a style sheet's geometry": svgMm(
    100,
    100,
    "<style>#cut{x:10px;y:20px;width:30px;height:30px}</style><rect id='cut'/>",
  ),
  "the transform property": svgMm(
    100,
    100,
    '<rect id="cut" width="30" height="30" style="transform:translate(10px, 20px)"/>',
  ),
};

describe("one square, however it is drawn", () => {
  it.each(Object.keys(SPELLINGS))("%s", async (name) => {
    const { piece, findings } = await pieceOf(SPELLINGS[name] as string);
    expect(findings.filter((f) => f.level === "error")).toEqual([]);
    expect(piece?.parts).toHaveLength(1);
    const ring = piece?.parts[0]?.outer ?? [];
    expect(canonical(ring.map((p) => [p.x / 1000, p.y / 1000]))).toBe(canonical(SQUARE));
    expect(area(ring)).toBe(900_000_000);
  });
});

describe("preserveAspectRatio", () => {
  // A square viewBox of 10 in a viewport of 200 x 100: meet scales by 10 mm, slice by 20 (SVG 1.1, 7.8).
  const cases: [string, number, number, number][] = [
    ["xMinYMin meet", 0, 0, 10],
    ["xMidYMid", 50, 0, 10],
    ["xMaxYMax", 100, 0, 10],
    ["xMinYMin slice", 0, 0, 20],
    ["xMidYMid slice", 0, -50, 20],
    ["xMaxYMax slice", 0, -100, 20],
    ["xMinYMax meet", 0, 0, 10],
  ];
  it.each(cases)("%s", async (fit, x, y, scale) => {
    const { lines } = await pieceOf(
      `<svg ${SVG} width="200mm" height="100mm" viewBox="0 0 10 10" preserveAspectRatio="${fit}"><rect id="cut" x="1" y="1" width="8" height="8"/></svg>`,
    );
    expect(dots(lines[0])[0]).toEqual([x + scale, y + scale]);
    expect(dots(lines[0])[2]).toEqual([x + 9 * scale, y + 9 * scale]);
  });
  it("none scales each axis by itself", async () => {
    const { lines } = await pieceOf(
      `<svg ${SVG} width="200mm" height="100mm" viewBox="0 0 10 10" preserveAspectRatio="none"><rect id="cut" x="1" y="1" width="8" height="8"/></svg>`,
    );
    expect(dots(lines[0])).toEqual([
      [20, 10],
      [180, 10],
      [180, 90],
      [20, 90],
    ]);
  });
});

describe("round shapes", () => {
  it.each([
    ["circle", '<circle id="cut" cx="50" cy="50" r="30"/>', 30, 30],
    ["ellipse", '<ellipse id="cut" cx="50" cy="50" rx="40" ry="20"/>', 40, 20],
    ["arcs of a path", '<path id="cut" d="M20 50a30 30 0 1 1 60 0a30 30 0 1 1-60 0z"/>', 30, 30],
    // svgpath exchanged the radii of an upright ellipse at some scales of micrometres.
    [
      "an upright ellipse at an odd scale",
      '<ellipse id="cut" rx="9.8" ry="14.2" transform="translate(50 50)scale(.351428571428571)"/>',
      3.444,
      4.99028571,
    ],
    ["a circle mirrored and stretched", '<circle id="cut" r="10" transform="matrix(-4 0 0 2 50 50)"/>', 40, 20],
    [
      "arcs mirrored",
      '<path id="cut" transform="translate(50 50)scale(1-1)" d="M-30 0A30 30 0 0 1 30 0A30 30 0 0 1-30 0z"/>',
      30,
      30,
    ],
  ])("%s stays within 4 um of the true curve", async (_, shape, rx, ry) => {
    const { lines } = await pieceOf(svgMm(100, 100, shape));
    const points = lines[0]?.points ?? [];
    expect(points.length).toBeGreaterThan(40);
    for (const [i, p] of points.entries()) {
      const q = points[(i + 1) % points.length] ?? p;
      for (const [x, y] of [
        [p.x, p.y],
        [(p.x + q.x) / 2, (p.y + q.y) / 2],
      ] as const) {
        const r = Math.hypot((x / 1000 - 50) / rx, (y / 1000 - 50) / ry);
        expect(Math.abs(r - 1) * Math.min(rx, ry)).toBeLessThan(0.0055);
      }
    }
    expect(Math.abs(area(points)) / 1e6).toBeCloseTo(Math.PI * rx * ry, -0.5);
  });

  it("gives a rect its round corners, one radius for both, at most half the side", async () => {
    const { lines } = await pieceOf(svgMm(100, 100, '<rect id="cut" x="10" y="10" width="40" height="20" ry="50"/>'));
    // Both radii are 50, limited to 20 and 10 (SVG 1.1, 9.2): an ellipse of 40 x 20.
    expect(Math.abs(area(lines[0]?.points ?? [])) / 1e6).toBeCloseTo(Math.PI * 20 * 10, 0);
    const { lines: plain } = await pieceOf(
      svgMm(100, 100, '<rect id="cut" x="10" y="10" width="40" height="20" rx="5"/>'),
    );
    expect(perimeter(plain[0]?.points ?? []) / 1000).toBeCloseTo(2 * (30 + 10) + 2 * Math.PI * 5, 1);
  });
});

describe("use", () => {
  it("counts a line once for each time it is drawn", async () => {
    const svg = svgMm(
      100,
      100,
      '<defs><rect class="cut" id="r" width="10" height="10"/></defs><use href="#r" x="5" y="5"/><use href="#r" x="45" y="5" transform="translate(0 40)"/>',
    );
    const { lines, piece } = await pieceOf(svg, { lines: { cutting: ".cut" } });
    expect(lines.map((l) => dots(l)[0])).toEqual([
      [5, 5],
      [45, 45],
    ]);
    expect(piece?.parts).toHaveLength(2);
    expect(piece?.artwork).toBeNull();
  });
  it("refuses a use of itself", async () => {
    const { rules } = await pieceOf(svgMm(9, 9, '<g id="cut"><use href="#cut"/></g>'));
    expect(rules).toContain("use-refused");
  });
  it("tells of a selected use without a target", async () => {
    const { findings } = await pieceOf(svgMm(9, 9, '<use id="cut" href="#gone"/>'));
    expect(findings[0]).toMatchObject({ rule: "use-refused", message: expect.stringContaining("#gone") });
  });
});

describe("sizes", () => {
  const box = (attributes: string): string =>
    `<svg ${SVG} ${attributes}><rect id="cut" width="50%" height="50%"/></svg>`;
  it("takes the missing side from the viewBox", async () => {
    const { piece } = await pieceOf(box('width="120mm" viewBox="0 0 12 18"'));
    expect(piece?.size).toEqual({ width: 120_000, height: 180_000 });
  });
  it("takes the kit's size when the drawing has none", async () => {
    const { piece } = await pieceOf(box('viewBox="0 0 12 18"'), { size: [120, 180] });
    expect(piece?.size).toEqual({ width: 120_000, height: 180_000 });
    expect((await pieceOf(box('viewBox="0 0 12 18"'))).rules).toEqual(["drawing-size-unknown"]);
    expect((await pieceOf(box('width="100%" height="100%"'))).rules).toEqual(["drawing-size-unknown"]);
  });
  it("agrees within 0.5 % and not beyond", async () => {
    expect((await pieceOf(box('width="120.5mm" height="180mm"'), { size: [120, 180] })).rules).toEqual([]);
    expect((await pieceOf(box('width="120.7mm" height="180mm"'), { size: [120, 180] })).rules).toEqual([
      "size-disagrees",
    ]);
  });
  it.each([
    [96 / 72, "72 units"],
    [72 / 96, "72 units"],
    [96 / 90, "90 units"],
    [25.4, "inches"],
    [25.4 / 96, "plain numbers"],
    [10, "centimetres"],
  ])("names the likely mistake for a factor of %f", async (factor, words) => {
    const { findings } = await pieceOf(box(`width="${120 * factor}mm" height="${180 * factor}mm"`), {
      size: [120, 180],
    });
    expect(findings[0]).toMatchObject({ rule: "size-disagrees", message: expect.stringContaining(words) });
  });
  it("says that pixels were assumed", async () => {
    const { findings } = await pieceOf(box('width="96" height="96px"'));
    expect(findings).toMatchObject([{ rule: "size-assumed", level: "note", message: expect.stringContaining("25.4") }]);
  });
  it.each(["10vw", "5rem", "calc(1mm)", "3ex", "1e400mm", "-5mm", "0", "wide"])(
    "refuses the width %s",
    async (width) => {
      const { rules, piece } = await pieceOf(box(`width="${width}" height="10mm"`));
      expect(piece).toBeUndefined();
      expect(rules.some((r) => r === "unit-unknown" || r === "value-unreadable")).toBe(true);
    },
  );
});
