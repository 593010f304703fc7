import {
  area,
  bounds,
  containsPoint,
  contourOf,
  crossings,
  isPositive,
  pathCrossings,
  perimeter,
  type Point,
  reversed,
  selfCrossings,
  tidy,
} from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { box, chance, corpus, star, traced } from "../support/contours.ts";

const ring = (...xy: readonly (readonly [number, number])[]): Point[] => xy.map(([x, y]) => ({ x, y }));

describe("area, bounds, perimeter", () => {
  it("a box is width times height, negative when wound the other way", () => {
    expect(area(box(1, 2, 30, 20))).toBe(30_000 * 20_000);
    expect(area(reversed(box(1, 2, 30, 20)))).toBe(-30_000 * 20_000);
    expect(isPositive(box(1, 2, 30, 20))).toBe(true);
    expect(perimeter(box(1, 2, 30, 20))).toBe(100_000);
    expect(bounds(box(1, 2, 30, 20))).toEqual({ x: 1000, y: 2000, width: 30_000, height: 20_000 });
  });
  it("stays exact 40 m from the corner", () => {
    expect(area(ring([40e6, 40e6], [40e6 + 1, 40e6], [40e6, 40e6 + 1]))).toBe(0.5);
  });
  it("a ring without area is not positive, and no points have no bounds", () => {
    expect(isPositive(ring([0, 0], [5, 5], [9, 9]))).toBe(false);
    expect(() => bounds([])).toThrow(RangeError);
  });
});

describe("inside, on the line, outside", () => {
  const l = ring([0, 0], [10, 0], [10, 10], [5, 10], [5, 5], [0, 5]);
  it.each([
    [[1, 1], 1],
    [[7, 9], 1],
    [[2, 7], -1],
    [[5, 7], 0],
    [[5, 5], 0],
    [[3, 5], 0],
    [[0, 0], 0],
    [[10, 10], 0],
    [[-1, 0], -1],
    [[11, 5], -1],
    [[12, 10], -1],
    [[-1, 5], -1],
    [[7, 5], 1],
  ] as const)("%j is %d", ([x, y], side) => {
    expect(containsPoint(l, { x, y })).toBe(side);
    expect(containsPoint(reversed(l), { x, y })).toBe(side);
  });

  // On a line of slope 1/3 over 2^31 the cross product is past 2^53; floats call some of these points "on".
  it("is exact where floats are not", () => {
    const far = 2 ** 30;
    const wide = ring([-far, -far], [far, far - 1], [-far, far]);
    expect(containsPoint(wide, { x: 0, y: 0 })).toBe(1);
    expect(containsPoint(wide, { x: 0, y: -1 })).toBe(-1);
    expect(containsPoint(wide, { x: far, y: far - 1 })).toBe(0);
    expect(containsPoint(wide, { x: far - 1, y: far - 2 })).toBe(-1);
  });

  it("agrees with the winding of the angles around the point, on chance stars", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 3, max: 40 }),
        fc.integer({ min: -60_000, max: 60_000 }),
        fc.integer({ min: -60_000, max: 60_000 }),
        (points, dx, dy) => {
          const s = star(points, 100, 0.5);
          const p = { x: 50_000 + dx, y: 50_000 + dy };
          const side = containsPoint(s, p);
          if (side === 0) return;
          let turn = 0;
          s.forEach((a, i) => {
            const b = s[(i + 1) % s.length] as Point;
            const cross = (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x);
            turn += Math.atan2(cross, (a.x - p.x) * (b.x - p.x) + (a.y - p.y) * (b.y - p.y));
          });
          expect(side > 0).toBe(Math.abs(turn) > 1);
        },
      ),
      { numRuns: 300, seed: 1 },
    );
  });
});

describe("crossings", () => {
  it("finds the middle of a figure of eight", () => {
    expect(selfCrossings(ring([0, 0], [10, 10], [10, 0], [0, 10]))).toEqual([{ x: 5, y: 5 }]);
  });
  it("finds it too when both strokes have a corner there", () => {
    expect(selfCrossings(ring([0, 0], [5, 5], [10, 10], [10, 0], [5, 5], [0, 10]))).toEqual([{ x: 5, y: 5 }]);
  });
  it("finds it when one stroke has a corner there", () => {
    expect(selfCrossings(ring([0, 0], [5, 5], [10, 10], [10, 0], [0, 10]))).toEqual([{ x: 5, y: 5 }]);
  });
  it("two corners that lean on each other do not cross", () => {
    expect(selfCrossings(ring([0, 0], [5, 5], [10, 0], [10, 10], [5, 5], [0, 10]))).toEqual([]);
  });
  it("a stretch covered twice and a spike are crossings", () => {
    expect(selfCrossings(ring([0, 0], [10, 0], [10, 5], [4, 5], [4, 0], [8, 0], [8, 9], [0, 9]))).not.toEqual([]);
    expect(selfCrossings(ring([0, 0], [10, 0], [10, 10], [10, 20], [10, 10], [0, 10]))).not.toEqual([]);
  });
  it("points repeated are no crossing", () => {
    expect(selfCrossings(ring([0, 0], [10, 0], [10, 0], [10, 10], [0, 10], [0, 10]))).toEqual([]);
  });
  it.each(Object.entries(corpus()))("%s crosses nothing", (_, outlines) => {
    for (const { outer, openings } of outlines)
      for (const one of [outer, ...openings]) expect(selfCrossings(one)).toEqual([]);
  });

  it("finds what comparing every edge with every other finds", () => {
    const next = chance(5);
    const scribble = Array.from({ length: 60 }, () => ({ x: Math.floor(next() * 1e6), y: Math.floor(next() * 1e6) }));
    const cross = (a: Point, b: Point, p: Point) => (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
    let count = 0;
    for (let i = 0; i < 60; i++)
      for (let j = i + 2; j < 60; j++) {
        const [a, b] = [scribble[i] as Point, scribble[(i + 1) % 60] as Point];
        const [c, d] = [scribble[j] as Point, scribble[(j + 1) % 60] as Point];
        if (cross(a, b, c) * cross(a, b, d) < 0 && cross(c, d, a) * cross(c, d, b) < 0) count++;
      }
    expect(count).toBeGreaterThan(100);
    expect(selfCrossings(scribble)).toHaveLength(count);
    expect(selfCrossings(scribble, { most: 10 })).toHaveLength(10);
  });

  it("two rings: through each other, side by side, apart", () => {
    expect(crossings(box(0, 0, 10, 10), box(5, 5, 10, 10))).toEqual([
      { x: 10_000, y: 5000 },
      { x: 5000, y: 10_000 },
    ]);
    expect(crossings(box(0, 0, 10, 10), box(10, 0, 10, 10)).length).toBeGreaterThan(0);
    expect(crossings(box(0, 0, 10, 10), box(20, 0, 10, 10))).toEqual([]);
    expect(crossings(box(0, 0, 10, 10), box(2, 2, 3, 3))).toEqual([]);
    expect(crossings(box(0, 0, 10, 10), ring([10_000, 5000], [20_000, 0], [20_000, 9000]))).toEqual([]);
  });
  it("an open line: crossing, ending on the ring, inside", () => {
    const sheet = box(0, 0, 10, 10);
    expect(pathCrossings(ring([5000, 5000], [15_000, 5000]), sheet)).toEqual([{ x: 10_000, y: 5000 }]);
    expect(pathCrossings(ring([5000, 5000], [10_000, 5000]), sheet)).toEqual([]);
    expect(pathCrossings(ring([1000, 1000], [9000, 9000]), sheet)).toEqual([]);
  });

  it("100,000 corners are no matter", () => {
    const long = traced(100_000, 300, 3);
    const start = process.cpuUsage();
    expect(selfCrossings(long)).toEqual([]);
    const { user, system } = process.cpuUsage(start);
    expect((user + system) / 1000).toBeLessThan(2000);
  });
});

describe("tidy", () => {
  it("drops repeats, middles of straight runs and spikes, also across the seam", () => {
    expect(tidy(ring([5, 0], [10, 0], [10, 0], [10, 10], [10, 15], [10, 10], [0, 10], [0, 0], [5, 0]))).toEqual(
      ring([10, 0], [10, 10], [0, 10], [0, 0]),
    );
    expect(tidy(ring([0, 0], [5, 5], [9, 9]))).toEqual([]);
    expect(tidy(ring([0, 0], [0, 0], [0, 0]))).toEqual([]);
  });
  it("keeps the area, leaves nothing to tidy and keeps the ring itself when there is nothing to do", () => {
    const clean = contourOf({ x: 0, y: 0, width: 5, height: 7 });
    expect(tidy(clean)).toBe(clean);
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.integer({ min: 0, max: 6 }), fc.integer({ min: 0, max: 6 })), { maxLength: 12 }),
        (xy) => {
          const one = ring(...xy);
          const two = tidy(one);
          expect(area(two)).toBe(area(one));
          expect(tidy(two)).toEqual(two);
          two.forEach((b, i) => {
            const [a, c] = [two[(i + two.length - 1) % two.length] as Point, two[(i + 1) % two.length] as Point];
            expect((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)).not.toBe(0);
          });
        },
      ),
      { numRuns: 500, seed: 3 },
    );
  });
});
