import {
  clearBy,
  containsPoint,
  distanceBetween,
  distanceToContour,
  grow,
  insideOutlines,
  intersect,
  matrixOf,
  type Outline,
  outlinesArea,
  outlinesDistance,
  outlinesOf,
  overlaps,
  placeOutlines,
  type Point,
} from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { box, chance, corpus, regular, star, traced } from "../support/contours.ts";

const one = (ring: Outline["outer"]): Outline[] => outlinesOf([ring]);
const moved = (outlines: readonly Outline[], x: number, y: number): Outline[] =>
  outlines.map(({ outer, openings }) => {
    const ring = (r: Outline["outer"]) => r.map((p) => ({ x: p.x + x, y: p.y + y }));
    return { outer: ring(outer), openings: openings.map(ring) };
  });

describe("distances by hand", () => {
  const square = one(box(0, 0, 10, 10));
  it("corner to corner is 3-4-5", () => {
    expect(outlinesDistance(square, moved(square, 13_000, 14_000))).toBe(5000);
  });
  it("touching, overlapping and one within the other are 0", () => {
    expect(outlinesDistance(square, moved(square, 10_000, 0))).toBe(0);
    expect(outlinesDistance(square, moved(square, 5000, 5000))).toBe(0);
    expect(outlinesDistance(square, one(box(4, 4, 1, 1)))).toBe(0);
    expect(outlinesDistance(one(box(4, 4, 1, 1)), square)).toBe(0);
  });
  it("a piece in the window of another is apart from it", () => {
    const frame = outlinesOf([box(0, 0, 60, 60), box(10, 10, 40, 40)]);
    expect(outlinesDistance(frame, one(box(15, 20, 5, 5)))).toBe(5000);
    expect(clearBy(frame, one(box(15, 20, 5, 5)), 5000)).toBe(true);
    expect(clearBy(frame, one(box(15, 20, 5, 5)), 5001)).toBe(false);
  });
  it("point to ring, inside and out", () => {
    expect(distanceToContour({ x: 5000, y: 4000 }, box(0, 0, 10, 10))).toBe(4000);
    expect(distanceToContour({ x: 13_000, y: 14_000 }, box(0, 0, 10, 10))).toBe(5000);
    expect(distanceToContour({ x: 10_000, y: 3000 }, box(0, 0, 10, 10))).toBe(0);
  });
  it("open lines are not closed behind one's back", () => {
    const u = [
      { x: 0, y: 0 },
      { x: 0, y: 100 },
      { x: 100, y: 100 },
      { x: 100, y: 0 },
    ];
    const dot = [
      { x: 50, y: -10 },
      { x: 50, y: -20 },
    ];
    expect(distanceBetween({ points: u, closed: true }, { points: dot, closed: false })).toBe(10);
    expect(distanceBetween({ points: u, closed: false }, { points: dot, closed: false })).toBeCloseTo(
      Math.hypot(50, 10),
    );
  });
});

describe("clear by a gutter", () => {
  const square = one(box(0, 0, 10, 10));
  it("a gap of exactly the clearance is clear, a micrometre less is not", () => {
    expect(clearBy(square, moved(square, 12_000, 3000), 2000)).toBe(true);
    expect(clearBy(square, moved(square, 11_999, 3000), 2000)).toBe(false);
    expect(clearBy(square, moved(square, 13_000, 14_000), 5000)).toBe(true);
    expect(clearBy(square, moved(square, 13_000, 13_999), 5000)).toBe(false);
  });
  it("a piece deep inside another is not clear, however far its line", () => {
    expect(clearBy(one(box(0, 0, 100, 100)), one(box(45, 45, 10, 10)), 2000)).toBe(false);
    expect(clearBy(one(box(45, 45, 10, 10)), one(box(0, 0, 100, 100)), 2000)).toBe(false);
  });
  it("with no clearance they may touch but not overlap", () => {
    expect(clearBy(square, moved(square, 10_000, 3000), 0)).toBe(true);
    expect(clearBy(square, moved(square, 10_000, 0), 0)).toBe(true);
    expect(clearBy(square, moved(square, 9999, 0), 0)).toBe(false);
    expect(clearBy(square, square, 0)).toBe(false);
    expect(clearBy(square, one(box(0, 0, 5, 10)), 0)).toBe(false);
    expect(clearBy(outlinesOf([box(0, 0, 9, 9), box(3, 3, 3, 3)]), one(box(3, 3, 3, 3)), 0)).toBe(true);
  });
  it("nothing is clear of everything", () => {
    expect(clearBy([], square, 2000)).toBe(true);
    expect(overlaps([], square)).toBe(false);
  });
});

const spot = fc.tuple(fc.integer({ min: -70_000, max: 70_000 }), fc.integer({ min: -70_000, max: 70_000 }));
const shape = fc.constantFrom(...Object.values(corpus()), one(star(5, 40, 0.4)), one(regular(7, 12)));

describe("on chance pairs", () => {
  it("overlap is what clipper's intersection with an area says", () => {
    fc.assert(
      fc.property(shape, shape, spot, (a, b, [x, y]) => {
        const there = moved(b, x, y);
        const shared = outlinesArea(intersect(a, there));
        // Slivers below what clipper rounds away cannot be judged by it.
        if (shared > 0 && shared < 1e4) return;
        expect(overlaps(a, there)).toBe(shared > 0);
        expect(clearBy(a, there, 0)).toBe(shared === 0);
        expect(outlinesDistance(a, there) > 0).toBe(shared === 0);
      }),
      { numRuns: 200, seed: 4 },
    );
  });

  it("the distance is the least one between a corner and an edge, compared with everything", () => {
    const brute = (p: readonly Point[], q: readonly Point[]): number => {
      let best = Infinity;
      for (const [one, two] of [
        [p, q],
        [q, p],
      ] as const)
        for (const c of one)
          two.forEach((a, i) => {
            const b = two[(i + 1) % two.length] as Point;
            const l2 = (b.x - a.x) ** 2 + (b.y - a.y) ** 2;
            const t = Math.max(0, Math.min(1, ((c.x - a.x) * (b.x - a.x) + (c.y - a.y) * (b.y - a.y)) / l2));
            best = Math.min(best, Math.hypot(a.x + t * (b.x - a.x) - c.x, a.y + t * (b.y - a.y) - c.y));
          });
      return best;
    };
    const next = chance(9);
    for (let k = 0; k < 60; k++) {
      const a = star(3 + Math.floor(next() * 20), 40, 0.3 + next() / 2);
      const b = star(3 + Math.floor(next() * 20), 40, 0.3 + next() / 2).map((p) => ({
        x: p.x + 41_000 + Math.floor(next() * 9000),
        y: p.y + Math.floor(next() * 30_000),
      }));
      const least = brute(a, b);
      expect(outlinesDistance(one(a), one(b))).toBeCloseTo(least, 6);
      expect(outlinesDistance(one(b), one(a))).toBeCloseTo(least, 6);
      expect(clearBy(one(a), one(b), Math.floor(least))).toBe(true);
      expect(clearBy(one(a), one(b), Math.ceil(least + 1e-6))).toBe(false);
    }
  });

  it("grown by their distance two pieces meet, grown by a little less they do not", () => {
    const next = chance(2);
    for (let k = 0; k < 20; k++) {
      const a = one(star(6, 40, 0.5));
      const b = moved(one(regular(9, 15)), 45_000 + Math.floor(next() * 5000), Math.floor(next() * 20_000));
      const apart = outlinesDistance(a, b);
      expect(apart).toBeGreaterThan(100);
      expect(clearBy(grow(a, Math.ceil(apart) + 8), b, 0)).toBe(false);
      expect(clearBy(grow(a, Math.floor(apart) - 8), b, 0)).toBe(true);
    }
  });
});

it("insideOutlines knows openings, islands and lines", () => {
  const island = corpus()["island-in-an-opening"] ?? [];
  const ask = (x: number, y: number) => insideOutlines(island, { x: x * 1000, y: y * 1000 });
  expect([ask(5, 5), ask(20, 20), ask(40, 40), ask(15, 40), ask(30, 40), ask(90, 5)]).toEqual([1, -1, 1, 0, 0, -1]);
});

describe("a full sheet", () => {
  const ring = traced(200, 11, 30);
  const pieces = Array.from({ length: 300 }, (_, k) =>
    placeOutlines(
      matrixOf({ degrees: k * 7, e: (k % 20) * 20_000 + 200_000, f: Math.floor(k / 20) * 20_000 + 200_000 }),
      outlinesOf([ring]),
    ),
  );
  it("300 pieces of 200 corners are compared pairwise without delay, and the one that is too near is found", () => {
    const start = process.cpuUsage();
    let near = 0;
    for (let i = 0; i < 300; i++)
      for (let j = i + 1; j < 300; j++) if (!clearBy(pieces[i] as Outline[], pieces[j] as Outline[], 1000)) near++;
    const { user, system } = process.cpuUsage(start);
    // Half a second on a quiet machine.
    expect((user + system) / 1000).toBeLessThan(2000);
    expect(near).toBe(bySampling(pieces, 1000));
  });
});

/** The same by corners against edges only, from the other side: slow, so only for pairs whose first corners are near. */
const bySampling = (pieces: readonly (readonly Outline[])[], clearance: number): number => {
  let near = 0;
  pieces.forEach((a, i) =>
    pieces.slice(i + 1).forEach((b) => {
      const [p, q] = [a[0]?.outer ?? [], b[0]?.outer ?? []];
      if (Math.hypot((p[0] as Point).x - (q[0] as Point).x, (p[0] as Point).y - (q[0] as Point).y) > 40_000) return;
      const least = Math.min(...p.map((c) => distanceToContour(c, q)), ...q.map((c) => distanceToContour(c, p)));
      if (least < clearance || p.some((c) => containsPoint(q, c) > 0)) near++;
    }),
  );
  return near;
};
