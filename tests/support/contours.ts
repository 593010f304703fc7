// The corpus of contours, drawn by formula and by seeded chance. `npx tsx tests/support/contours.ts` writes it to
// fixtures/contours; tests/geometry/corpus.test.ts says when the files are stale.
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { type Contour, contourOf, mm, outlinesOf, type Outline, type Point } from "@kitforme/geometry";

/** Even numbers between 0 and 1, the same for the same seed (a linear congruential generator, Numerical Recipes' constants). */
export const chance = (seed: number): (() => number) => {
  let state = seed >>> 0;
  return () => (state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0) / 2 ** 32;
};

const at = (x: number, y: number): Point<"drawing"> => ({ x: Math.round(x) + 0, y: Math.round(y) + 0 });

/** A box in millimetres. */
export const box = (x: number, y: number, width: number, height: number): Contour<"drawing"> =>
  contourOf({ x: mm(x), y: mm(y), width: mm(width), height: mm(height) });

/** A regular polygon around a centre, all in millimetres. */
export const regular = (corners: number, radius: number, x = radius, y = radius): Contour<"drawing"> =>
  Array.from({ length: corners }, (_, i) => {
    const turn = (2 * Math.PI * i) / corners;
    return at(mm(1) * (x + radius * Math.cos(turn)), mm(1) * (y + radius * Math.sin(turn)));
  });

/** A traced outline: a wavy round of so many corners, `size` mm across, each corner off by up to `noise` um. */
export const traced = (corners: number, size: number, noise: number, seed = 12_345): Contour<"drawing"> => {
  const next = chance(seed);
  const half = (size * 1000) / 2;
  return Array.from({ length: corners }, (_, i) => {
    const turn = (2 * Math.PI * i) / corners;
    const radius = half * (0.8 + 0.1 * Math.sin(5 * turn)) + (next() - 0.5) * 2 * noise;
    return at(half + radius * Math.cos(turn), half + radius * Math.sin(turn));
  });
};

/** A star with so many points; `inner` is the share of the radius at which the notches lie. */
export const star = (points: number, size: number, inner: number): Contour<"drawing"> =>
  Array.from({ length: 2 * points }, (_, i) => {
    const turn = (Math.PI * i) / points;
    const radius = ((size * 1000) / 2) * (i % 2 === 0 ? 1 : inner);
    return at(size * 500 + radius * Math.cos(turn), size * 500 + radius * Math.sin(turn));
  });

/** A comb: a bar with teeth; tooth and gap of equal width. */
export const comb = (teeth: number, pitch: number, length: number): Contour<"drawing"> => {
  const points: Point<"drawing">[] = [at(0, 0), at(mm(teeth * pitch), 0)];
  for (let i = teeth - 1; i >= 0; i--) {
    const left = mm(i * pitch);
    const middle = mm((i + 0.5) * pitch);
    points.push(at(mm((i + 1) * pitch), mm(length)), at(middle, mm(length)), at(middle, mm(5)), at(left, mm(5)));
  }
  return points;
};

/** The unfolded box with its glue tabs and two round windows, 150 x 120 mm. */
const net = (): Outline<"drawing">[] => {
  const cross = [
    [40, 0],
    [42, -8],
    [68, -8],
    [70, 0],
    [70, 40],
    [110, 40],
    [118, 42],
    [118, 68],
    [110, 70],
    [70, 70],
    [70, 110],
    [68, 118],
    [42, 118],
    [40, 110],
    [40, 70],
    [0, 70],
    [-8, 68],
    [-8, 42],
    [0, 40],
    [40, 40],
  ].map(([x = 0, y = 0]) => at(mm(x + 10), mm(y + 10)));
  return outlinesOf([cross, regular(48, 6, 65, 65), regular(36, 4, 100, 65)]);
};

/** Every shape of the corpus by name. */
export const corpus = (): Record<string, Outline<"drawing">[]> => ({
  "net-with-tabs-and-windows": net(),
  blob: outlinesOf([
    Array.from({ length: 360 }, (_, i) => {
      const t = (2 * Math.PI * i) / 360;
      const r = 40_000 + 9_000 * Math.sin(3 * t) + 4_000 * Math.cos(7 * t + 1);
      return at(60_000 + r * Math.cos(t), 60_000 + r * Math.sin(t));
    }),
    regular(60, 8, 60, 60),
  ]),
  "traced-with-noise": outlinesOf([traced(1200, 80, 200)]),
  "slot-narrower-than-bleed": outlinesOf([
    [
      [0, 0],
      [60, 0],
      [60, 40],
      [32, 40],
      [32, 10],
      [28, 10],
      [28, 40],
      [0, 40],
    ].map(([x = 0, y = 0]) => at(mm(x), mm(y))),
  ]),
  star: outlinesOf([star(9, 90, 0.45)]),
  comb: outlinesOf([comb(8, 8, 40)]),
  "island-in-an-opening": outlinesOf([box(0, 0, 80, 80), box(15, 15, 50, 50), box(30, 30, 20, 20)]),
});

/** The written form of one shape: rings as [x, y] in micrometres. */
export const written = (name: string, outlines: readonly Outline[]): string =>
  `${JSON.stringify(
    { name, unit: "um", outlines: outlines.map((o) => ({ outer: pairs(o.outer), openings: o.openings.map(pairs) })) },
    null,
    1,
  ).replace(/\[\s+(-?\d+),\s+(-?\d+)\s+\]/g, "[$1, $2]")}\n`;

const pairs = (ring: Contour): number[][] => ring.map((p) => [p.x, p.y]);

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const folder = fileURLToPath(new URL("../../fixtures/contours/", import.meta.url));
  mkdirSync(folder, { recursive: true });
  for (const [name, outlines] of Object.entries(corpus()))
    writeFileSync(join(folder, `${name}.json`), written(name, outlines));
}
