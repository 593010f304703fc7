// One shape drawn twice, as a line and as artwork: what librsvg (in sharp) paints must lie inside what the knife follows,
// pixel for pixel. The two readings have no code in common: librsvg resolves the transforms, units and viewports that are
// left in the artwork, the reader those of the line.
import { type Contour, containsPoint, distanceToContour } from "@kitforme/geometry";
import fc from "fast-check";
import sharp from "sharp";
import { expect, it } from "vitest";
import { pieceOf } from "../support/kits.ts";

const PX_PER_MM = 3;

const n = (least: number, most: number) => fc.integer({ min: least * 10, max: most * 10 }).map((v) => v / 10);

const shape = fc.oneof(
  fc
    .tuple(n(0, 20), n(0, 20), n(8, 30), n(8, 30), n(0, 6))
    .map(([x, y, w, h, r]) => `<rect x="${x}" y="${y}" width="${w}" height="${h}" rx="${r}"/>`),
  fc
    .tuple(n(5, 30), n(5, 30), n(3, 15), n(3, 15))
    .map(([x, y, rx, ry]) => `<ellipse cx="${x}" cy="${y}" rx="${rx}" ry="${ry}"/>`),
  fc
    .tuple(n(1, 9), n(5, 25), n(5, 25))
    .map(
      ([r, w, h]) =>
        `<path d="M${r} 0h${w}a${r} ${r} 0 01${r} ${r}v${h}a${r} ${2 * r} 30 11-${r} ${r}h-${w}c-${w} 0-${r}-${h} 0-${h}z"/>`,
    ),
  fc
    .tuple(n(5, 30), n(5, 30))
    .map(([w, h]) => `<polygon points="0,0 ${w},0${-h} ${w} ${h},${w / 2}-${h / 3}"/>`.replace(`0${-h}`, `0 ${h}`)),
  fc.tuple(n(2, 9), n(2, 9)).map(([w, h]) => `<circle cx="${w}mm" cy="${h}mm" r="${Math.min(w, h)}mm"/>`),
  fc.tuple(n(10, 40), n(10, 40)).map(([w, h]) => `<path d="M0 0Q${w} 0 ${w} ${h}T0 ${h}S-${w} 0 0 0z"/>`),
);
const transform = fc.oneof(
  fc.tuple(n(-20, 40), n(-20, 40)).map(([x, y]) => `translate(${x} ${y})`),
  n(-180, 180).map((a) => `rotate(${a})`),
  fc.tuple(n(-180, 180), n(0, 50)).map(([a, c]) => `rotate(${a},${c},${c})`),
  fc.constantFrom(
    "scale(-1 1)",
    "scale(1-.7)",
    "skewX(20)",
    "skewY(-15)scale(.8)",
    "matrix(0 1.2-.9 0 20 5)",
    "scale(1.5)",
  ),
);
// No slice among the nested viewports: librsvg then cuts them off even when their overflow is visible.
const wrap = fc.oneof(
  transform.map((t) => (inner: string) => `<g transform="${t}">${inner}</g>`),
  fc
    .tuple(
      n(0, 20),
      n(0, 20),
      n(20, 80),
      n(20, 80),
      fc.constantFrom("none", "xMidYMid", "xMinYMax meet", "xMaxYMin meet"),
    )
    .map(
      ([x, y, w, h, fit]) =>
        (inner: string) =>
          `<svg x="${x}" y="${y}" width="${w}" height="${h}" viewBox="-5 -5 70 50" overflow="visible" preserveAspectRatio="${fit}">${inner}</svg>`,
    ),
);
const root = fc.constantFrom(
  'width="100mm" height="80mm" viewBox="0 0 100 80"',
  'width="100mm" height="80mm"',
  'width="10cm" height="226.7716535pt" viewBox="-20 -10 200 100"',
  'width="100mm" height="80mm" viewBox="0 0 100 100" preserveAspectRatio="none"',
  'width="100mm" height="80mm" viewBox="10 10 60 60" preserveAspectRatio="xMaxYMin slice"',
);

it("the line is where the paint is", async () => {
  let judged = 0;
  await fc.assert(
    fc.asyncProperty(root, shape, fc.array(wrap, { maxLength: 3 }), async (attributes, one, wraps) => {
      const nest = (inner: string): string => wraps.reduce((sum, w) => w(sum), inner);
      // The sheet around all keeps the piece valid wherever the shape ends up; the shape itself is a kiss cut.
      const svg = `<svg xmlns="http://www.w3.org/2000/svg" ${attributes}><rect id="cut" x="-900" y="-900" width="2000" height="2000"/>${nest(`<g class="kiss">${one}</g>`)}<g id="art">${nest(one)}</g></svg>`;
      const { piece } = await pieceOf(svg, {
        lines: { cutting: "#cut", partialCutting: ".kiss" },
        artwork: "#art",
        bleed: 0,
      });
      const ring: Contour | undefined = piece?.lines.find((l) => l.operation === "partialCutting")?.points;
      // Shapes that cross themselves are findings; they are judged elsewhere.
      if (!ring || piece?.artwork?.kind !== "drawing") return;
      const [width, height] = [100 * PX_PER_MM, 80 * PX_PER_MM];
      const seen = piece.artwork.svg.replace(
        /^<svg xmlns="[^"]*" [^>]*>/,
        `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 100 80">`,
      );
      const { data, info } = await sharp(Buffer.from(seen)).ensureAlpha().raw().toBuffer({ resolveWithObject: true });
      expect(info.width).toBe(width);
      for (let row = 1; row < height; row += 5)
        for (let column = 1; column < width; column += 5) {
          const p = {
            x: Math.round(((column + 0.5) * 1000) / PX_PER_MM),
            y: Math.round(((row + 0.5) * 1000) / PX_PER_MM),
          };
          if (distanceToContour(p, ring) < 1000 / PX_PER_MM) continue;
          const painted = (data[4 * (row * width + column) + 3] ?? 0) > 127;
          if (painted !== containsPoint(ring, p) > 0)
            throw new Error(
              `at ${p.x / 1000}, ${p.y / 1000} mm: ${painted ? "paint without line" : "line without paint"} in ${svg}`,
            );
          judged++;
        }
    }),
    { numRuns: 100, seed: 31 },
  );
  // Most drawings must have been judged, or the test says nothing.
  expect(judged).toBeGreaterThan(60_000);
});
