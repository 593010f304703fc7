import {
  flattenArc,
  flattenCubic,
  flattenQuadratic,
  FLATTEN_TOLERANCE,
  joinEnds,
  lengthOf,
  mm,
  type Path,
  type Point,
  simplifyPath,
  simplifyRing,
} from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { chance, corpus, traced } from "../support/contours.ts";

const fromLine = (p: { x: number; y: number }, line: readonly Point[]): number => {
  let best = Infinity;
  for (let i = 1; i < line.length; i++) {
    const [a, b] = [line[i - 1] as Point, line[i] as Point];
    const l2 = (b.x - a.x) ** 2 + (b.y - a.y) ** 2 || 1;
    const t = Math.max(0, Math.min(1, ((p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y)) / l2));
    best = Math.min(best, Math.hypot(a.x + t * (b.x - a.x) - p.x, a.y + t * (b.y - a.y) - p.y));
  }
  return best;
};

// Rounding moves each corner by at most half the diagonal of a square micrometre.
const BOUND = (tolerance: number) => tolerance + Math.SQRT1_2 + 1e-6;
const place = fc.record({ x: fc.integer({ min: 0, max: 100_000 }), y: fc.integer({ min: 0, max: 100_000 }) });
const tolerances = fc.constantFrom(1, 4, 100);

describe("flattening stays within its tolerance", () => {
  it("cubics", () => {
    fc.assert(
      fc.property(place, place, place, place, tolerances, (a, b, c, d, tolerance) => {
        const line = flattenCubic(a, b, c, d, tolerance);
        expect(line[0]).toEqual(a);
        expect(line.at(-1)).toEqual(d);
        for (let i = 0; i <= 200; i++) {
          const [t, s] = [i / 200, 1 - i / 200];
          const [p, q, r, w] = [s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t];
          const on = { x: p * a.x + q * b.x + r * c.x + w * d.x, y: p * a.y + q * b.y + r * c.y + w * d.y };
          expect(fromLine(on, line)).toBeLessThanOrEqual(BOUND(tolerance));
        }
      }),
      { numRuns: 60, seed: 21 },
    );
  });

  it("quadratics", () => {
    fc.assert(
      fc.property(place, place, place, tolerances, (a, b, c, tolerance) => {
        const line = flattenQuadratic(a, b, c, tolerance);
        expect(line.at(-1)).toEqual(c);
        for (let i = 0; i <= 200; i++) {
          const [t, s] = [i / 200, 1 - i / 200];
          const on = { x: s * s * a.x + 2 * s * t * b.x + t * t * c.x, y: s * s * a.y + 2 * s * t * b.y + t * t * c.y };
          expect(fromLine(on, line)).toBeLessThanOrEqual(BOUND(tolerance));
        }
      }),
      { numRuns: 60, seed: 22 },
    );
  });

  it("circular arcs: every corner on the circle, every chord within the sagitta", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 500, max: 200_000 }),
        fc.double({ min: 0.05, max: 6.2, noNaN: true }),
        tolerances,
        (r, turn, tolerance) => {
          const to = { x: r * Math.cos(turn), y: r * Math.sin(turn) };
          const arc = { rx: r, ry: r, rotation: 0, large: turn > Math.PI, sweep: true };
          const line = flattenArc({ x: r, y: 0 }, arc, to, tolerance);
          for (const p of line) expect(Math.abs(Math.hypot(p.x, p.y) - r)).toBeLessThan(0.72);
          for (let i = 0; i <= 100; i++) {
            const on = { x: r * Math.cos((turn * i) / 100), y: r * Math.sin((turn * i) / 100) };
            expect(fromLine(on, line)).toBeLessThanOrEqual(BOUND(tolerance));
          }
        },
      ),
      { numRuns: 80, seed: 23 },
    );
  });

  it("at 100 mm an arc misses by no more than the tolerance, where two cubics miss by 27 um", () => {
    const line = flattenArc(
      { x: mm(100), y: 0 },
      { rx: mm(100), ry: mm(100), rotation: 0, large: false, sweep: true },
      { x: -mm(100), y: 0 },
    );
    for (const p of line) expect(Math.abs(Math.hypot(p.x, p.y) - mm(100))).toBeLessThan(0.72);
    expect(lengthOf(line) / (Math.PI * mm(100))).toBeCloseTo(1, 4);
  });
});

// Source: SVG 1.1, 8.3.8 and F.6 (endpoint parameters, radii too small are scaled up, radius 0 is a line).
describe("the arc command", () => {
  const [from, to] = [
    { x: 0, y: 0 },
    { x: 10_000, y: 0 },
  ];
  const height = (line: Path) => line.reduce((most, p) => (Math.abs(p.y) > Math.abs(most) ? p.y : most), 0);
  const round = (large: boolean, sweep: boolean, r = 10_000) =>
    flattenArc(from, { rx: r, ry: r, rotation: 0, large, sweep }, to);
  it("the four arcs between two points: small and large, either way round (y down: sweep is clockwise, over the top)", () => {
    const [low, high] = [10_000 - Math.sqrt(75e6), 10_000 + Math.sqrt(75e6)];
    expect(Math.abs(height(round(false, true)) + low)).toBeLessThan(5);
    expect(Math.abs(height(round(false, false)) - low)).toBeLessThan(5);
    expect(Math.abs(height(round(true, true)) + high)).toBeLessThan(5);
    expect(Math.abs(height(round(true, false)) - high)).toBeLessThan(5);
  });
  it("radii too small become the half circle", () => {
    expect(Math.abs(height(round(false, true, 10)) + 5000)).toBeLessThan(5);
  });
  it("a radius of 0 is a straight line, equal ends are a point", () => {
    expect(round(false, true, 0)).toEqual([from, to]);
    expect(flattenArc(from, { rx: 5, ry: 5, rotation: 0, large: true, sweep: true }, from)).toEqual([from, from]);
  });
  it("a turned ellipse: every corner satisfies its equation", () => {
    const phi = Math.PI / 6;
    const line = flattenArc(
      { x: 0, y: 0 },
      { rx: 30_000, ry: 10_000, rotation: 30, large: false, sweep: true },
      { x: 60_000 * Math.cos(phi), y: 60_000 * Math.sin(phi) },
    );
    const [cx, cy] = [30_000 * Math.cos(phi), 30_000 * Math.sin(phi)];
    expect(line.length).toBeGreaterThan(20);
    for (const p of line) {
      const u = Math.cos(phi) * (p.x - cx) + Math.sin(phi) * (p.y - cy);
      const v = Math.cos(phi) * (p.y - cy) - Math.sin(phi) * (p.x - cx);
      expect(Math.abs(Math.hypot(u / 30_000, v / 10_000) - 1)).toBeLessThan(1e-4);
    }
  });
});

describe("thinning out", () => {
  it.each(Object.entries(corpus()))("%s: dropped corners are within the tolerance of the line", (_, outlines) => {
    for (const { outer } of outlines) {
      const thin = simplifyRing(outer, 50);
      expect(thin.length).toBeGreaterThan(2);
      for (const p of outer) expect(fromLine(p, [...thin, thin[0] as Point])).toBeLessThanOrEqual(50);
      // Where the ring begins does not matter.
      const k = Math.floor(outer.length / 3);
      expect(simplifyRing([...outer.slice(k), ...outer.slice(0, k)], 50)).toEqual(thin);
    }
  });
  it("100,000 corners are quick, a ring thinner than the tolerance is none, a path keeps its ends", () => {
    const long = traced(100_000, 200, 2);
    const thin = simplifyRing(long, FLATTEN_TOLERANCE);
    expect(thin.length).toBeLessThan(20_000);
    expect(
      simplifyRing(
        [
          { x: 0, y: 0 },
          { x: 1000, y: 2 },
          { x: 2000, y: 0 },
        ],
        4,
      ),
    ).toEqual([]);
    const path = [
      { x: 0, y: 0 },
      { x: 500, y: 3 },
      { x: 1000, y: 0 },
    ];
    expect(simplifyPath(path, 4)).toEqual([path[0], path[2]]);
    expect(simplifyPath(path, 2)).toEqual(path);
  });
});

describe("joining ends", () => {
  const p = (x: number, y: number): Point => ({ x, y });
  it("four sides in any order and direction become one ring", () => {
    const sides = [
      [p(0, 0), p(1000, 0)],
      [p(1000, 1000), p(1000, 0)],
      [p(0, 1000), p(0, 0)],
      [p(1000, 1000), p(0, 1000)],
    ];
    const joined = joinEnds(sides, 100);
    expect(joined.paths).toEqual([]);
    expect(joined.bridges).toEqual([]);
    expect(joined.rings).toHaveLength(1);
    expect(new Set(joined.rings[0]?.map((q) => `${q.x} ${q.y}`))).toEqual(
      new Set(["0 0", "1000 0", "1000 1000", "0 1000"]),
    );
    expect(joined.rings[0]).toHaveLength(4);
  });
  it("tells the place and the width of every gap, widest first, and bridges wide ones with an edge", () => {
    const joined = joinEnds(
      [
        [p(0, 0), p(1000, 0)],
        [p(1060, 80), p(1000, 1000)],
        [p(1005, 1000), p(0, 1000)],
      ],
      100,
    );
    expect(joined.rings).toEqual([]);
    expect(joined.paths).toHaveLength(1);
    expect(joined.bridges).toEqual([
      { at: p(1000, 0), gap: 100 },
      { at: p(1000, 1000), gap: 5 },
    ]);
    expect(joined.paths[0]).toHaveLength(5);
  });
  it("leaves alone what is farther apart", () => {
    expect(
      joinEnds(
        [
          [p(0, 0), p(1000, 0)],
          [p(1000, 101), p(0, 1000)],
        ],
        100,
      ).paths,
    ).toHaveLength(2);
  });
  it("a line that nearly comes back to its beginning closes; a line of two points never closes on itself", () => {
    expect(joinEnds([[p(0, 0), p(1000, 0), p(1000, 1000), p(0, 50)]], 100).rings).toHaveLength(1);
    expect(joinEnds([[p(0, 0), p(50, 0)]], 100).paths).toEqual([[p(0, 0), p(50, 0)]]);
  });
  it("sides of a contour are joined before a slit that begins at its corner, in whatever sequence they are drawn", () => {
    const sides = [
      [p(0, 0), p(1000, 0)],
      [p(1000, 0), p(1000, 1000)],
      [p(1000, 1000), p(0, 1000)],
      [p(0, 1000), p(0, 90)],
    ];
    const slit = [
      [p(0, 0), p(400, 400)],
      [p(400, 400), p(600, 400)],
    ];
    for (let k = 0; k <= sides.length; k++) {
      const { rings, paths } = joinEnds([...sides.slice(0, k), ...slit, ...sides.slice(k)], 100);
      expect(rings).toHaveLength(1);
      expect(paths).toEqual([expect.arrayContaining([p(0, 0), p(400, 400), p(600, 400)])]);
    }
  });
  it("a line drawn there and back, or twice, is one line and never lost", () => {
    const [a, b] = [p(0, 0), p(4000, 1000)];
    for (const drawn of [
      [[a, b, a]],
      [
        [a, b],
        [a, b],
      ],
      [
        [a, b],
        [b, a],
      ],
    ])
      expect(joinEnds(drawn, 100)).toMatchObject({ rings: [], paths: [expect.arrayContaining([a, b])] });
  });
  it("of three ends in one place two are joined and one stays", () => {
    const joined = joinEnds(
      [
        [p(0, 0), p(500, 0)],
        [p(500, 0), p(900, 0)],
        [p(500, 0), p(500, 700)],
      ],
      10,
    );
    expect(joined.paths).toHaveLength(2);
  });
  it("puts any shuffled, turned-round cut of a ring together again", () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 199 }), { minLength: 2, maxLength: 12 }),
        fc.integer(),
        (marks, seed) => {
          const ring = traced(200, 60, 50);
          const stops = [...new Set(marks)].sort((a, b) => a - b);
          fc.pre(stops.length > 1);
          const next = chance(seed);
          const parts = stops.map((from, i) => {
            const to = (stops[i + 1] ?? (stops[0] as number) + 200) as number;
            const part = Array.from({ length: to - from + 1 }, (_, k) => ring[(from + k) % 200] as Point);
            return next() < 0.5 ? part.toReversed() : part;
          });
          const shuffled = parts
            .map((part) => [next(), part] as const)
            .sort((a, b) => a[0] - b[0])
            .map(([, part]) => part);
          const joined = joinEnds(shuffled, 100);
          expect(joined.paths).toEqual([]);
          expect(joined.rings.map((r) => r.length)).toEqual([200]);
        },
      ),
      { numRuns: 100, seed: 31 },
    );
  });
});
