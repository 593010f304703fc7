// The transform attribute in every legal spelling. Source: SVG 1.1 (Second Edition), 7.6 and its BNF.
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { dots, pieceOf, svgMm } from "../support/kits.ts";

/** The outline of a 40 x 20 rectangle at (10, 10) under a transform, in millimetres. */
const under = async (transform: string, css = false) => {
  const attribute = css ? `style="transform:${transform}"` : `transform="${transform}"`;
  const read = await pieceOf(svgMm(200, 200, `<path id="cut" d="M10 10h40v20h-40z" ${attribute}/>`));
  return { points: dots(read.lines[0]), rules: read.rules };
};

const RECT = [
  [10, 10],
  [50, 10],
  [50, 30],
  [10, 30],
] as const;

type Six = readonly [number, number, number, number, number, number];
const through = ([a, b, c, d, e, f]: Six): number[][] =>
  RECT.map(([x, y]) => [a * x + c * y + e, b * x + d * y + f].map((n) => Math.round(n * 1000) / 1000 + 0));

const SAME: [string, string[], Six][] = [
  [
    "matrix",
    [
      "matrix(1 0 0 1 -.5 .5)",
      "matrix(1 0 0 1-.5.5)",
      "matrix(1,0,0,1,-0.5,0.5)",
      " matrix ( 1 , 0 , 0 , 1 , -5e-1 , +.5 ) ",
      "matrix(1 0 0 1 -.5\n.5)",
      "translate(-.5.5)",
      "translate(-0.5,0.5)",
      "translate(-.5)translate(0 .5)",
      "translate(-1),,translate(.5,.5)",
    ],
    [1, 0, 0, 1, -0.5, 0.5],
  ],
  ["translate", ["translate(1-2)", "translate(1 -2)", "translate(1,-2)", "translate(1e0-2.)"], [1, 0, 0, 1, 1, -2]],
  ["scale", ["scale(2)", "scale(2 2)", "scale(2,2)", "scale( +2 )", "scale(.5e1)scale(.4)"], [2, 0, 0, 2, 0, 0]],
  ["mirror", ["scale(1-1)", "scale(1,-1)", "rotate(180)scale(-1 1)"], [1, 0, 0, -1, 0, 0]],
  ["rotate", ["rotate(90)", "rotate(450)", "rotate(-270)", "rotate(90 0 0)", "rotate(9e1,0,0)"], [0, 1, -1, 0, 0, 0]],
  ["rotate about", ["rotate(90 10 20)", "translate(10 20)rotate(90)translate(-10-20)"], [0, 1, -1, 0, 30, 10]],
  ["skew", ["skewX(45)", "matrix(1 0 1 1 0 0)"], [1, 0, 1, 1, 0, 0]],
  ["skew in y", ["skewY(45)", "matrix(1 1 0 1 0 0)"], [1, 1, 0, 1, 0, 0]],
  // The leftmost function is the outermost.
  ["order", ["translate(100 0)scale(2)", "scale(2)translate(50 0)", "matrix(2 0 0 2 100 0)"], [2, 0, 0, 2, 100, 0]],
  ["nothing", ["", "  ", "translate(0)"], [1, 0, 0, 1, 0, 0]],
];

describe("transform lists", () => {
  it.each(SAME)("%s: all spellings are one matrix", async (_, spellings, matrix) => {
    for (const text of spellings) {
      const { points, rules } = await under(text);
      expect(rules, text).toEqual([]);
      expect(points, text).toEqual(through(matrix));
    }
  });

  it.each([
    "matrix(1 0 0 1 0)",
    "matrix(1 0 0 1 0 0 0)",
    "translate()",
    "translate(1,)",
    "translate(1,,2)",
    "translate(,1)",
    "translate(1 2 3)",
    "translate(1px)",
    "rotate(45deg)",
    "rotate(1 2)",
    "skew(1)",
    "Scale(2)",
    "scale(2",
    "scale 2)",
    "scale(a)",
    "scale(1e999)",
    "scale(1e200)scale(1e200)",
    "translateX(1)",
    "rotate3d(1,0,0,45deg)",
    "translate(NaN)",
  ])("%j is refused by name", async (text) => {
    expect((await under(text)).rules).toEqual(["value-unreadable"]);
  });

  it("the property of a style takes units and single axes", async () => {
    expect((await under("translateX(5mm) rotate(0.25turn)", true)).points).toEqual(
      through([0, 1, -1, 0, (5 * 96) / 25.4, 0]),
    );
    expect((await under("scaleY(-1)", true)).points).toEqual(through([1, 0, 0, -1, 0, 0]));
    expect((await under("translate(50%, 0)", true)).rules).toEqual(["value-unreadable"]);
  });

  it("an origin that is not read is refused", async () => {
    const svg = svgMm(
      99,
      99,
      '<rect id="cut" width="9" height="9" style="transform:rotate(9deg);transform-origin:center"/>',
    );
    expect((await pieceOf(svg)).rules).toEqual(["css-refused"]);
  });

  const number = fc
    .tuple(fc.integer({ min: -9000, max: 9000 }), fc.constantFrom(1000, 300))
    .map(([n, d]) => Math.round((n / d) * 1000) / 1000);
  const spell = fc.record({
    gap: fc.constantFrom(" ", ",", " , ", "\t", "tight"),
    plus: fc.boolean(),
    bare: fc.boolean(),
    exponent: fc.boolean(),
  });
  type Spelling = { gap: string; plus: boolean; bare: boolean; exponent: boolean };
  const spellNumber = (n: number, { plus, bare, exponent }: Spelling): string => {
    let text = exponent ? `${Math.round(n * 1000)}e-3` : String(n);
    if (bare) text = text.replace(/^(-?)0\./, "$1.");
    return plus && n >= 0 ? `+${text}` : text;
  };
  /** Numbers side by side: tight leaves out what the grammar lets be left out. */
  const join = (numbers: readonly string[], gap: string): string =>
    numbers.reduce((sum, n) => {
      if (sum === "") return n;
      if (gap !== "tight") return sum + gap + n;
      const glued = /^[+-]/.test(n) || (n.startsWith(".") && /\.\d*$|e-\d+$/.test(sum));
      return sum + (glued ? "" : " ") + n;
    }, "");

  it("any six numbers, however spelled, are the same matrix", async () => {
    await fc.assert(
      fc.asyncProperty(fc.tuple(number, number, number, number, number, number), spell, async (six, spelling) => {
        const text = `matrix(${join(
          six.map((n) => spellNumber(n, spelling)),
          spelling.gap,
        )})`;
        // A crease, since a matrix may flatten the rectangle, and creases need no area.
        const svg = svgMm(
          9000,
          9000,
          `<path id="cut" d="M-5000-5000H4000V4000H-5000z"/><path id="c" d="M10 10h40v20" transform="${text}"/>`,
        );
        const { lines, findings } = await pieceOf(svg, { lines: { cutting: "#cut", creasing: "#c" } });
        expect(
          findings.filter((f) => f.rule === "value-unreadable"),
          text,
        ).toEqual([]);
        const [first, second, third] = through(six);
        const got = dots(lines.find((l) => l.operation === "creasing"));
        const want = [first, second, third].filter((p, i, all) => i === 0 || String(p) !== String(all[i - 1]));
        if (want.length > 1)
          got.forEach((p, i) => {
            expect(Math.abs(p[0] - (want[i]?.[0] ?? NaN)), text).toBeLessThan(0.0011);
            expect(Math.abs(p[1] - (want[i]?.[1] ?? NaN)), text).toBeLessThan(0.0011);
          });
      }),
      { numRuns: 200, seed: 7 },
    );
  });
});
