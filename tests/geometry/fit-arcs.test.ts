import { fitArcs, flattenCubic, mm, type Point, type Segment } from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

/** Points of an arc whose chords bow out by at most 4 µm, as the reader of drawings makes them. */
const flattened = (cx: number, cy: number, r: number, from: number, sweep: number): Point<"sheet">[] => {
  const n = Math.max(4, Math.ceil(Math.abs(sweep) / (2 * Math.acos(1 - 4 / r))));
  return Array.from({ length: n + 1 }, (_, i) => ({
    x: Math.round(cx + r * Math.cos(from + (sweep * i) / n)),
    y: Math.round(cy + r * Math.sin(from + (sweep * i) / n)),
  }));
};

/** Places along a segment, from its own numbers. */
const along = (from: Point, s: Segment): { x: number; y: number }[] =>
  Array.from({ length: 21 }, (_, i) => {
    if (s.kind === "line")
      return { x: from.x + ((s.to.x - from.x) * i) / 20, y: from.y + ((s.to.y - from.y) * i) / 20 };
    const a = Math.atan2(from.y - s.centre.y, from.x - s.centre.x) + (s.sweep * i) / 20;
    return { x: s.centre.x + s.radius * Math.cos(a), y: s.centre.y + s.radius * Math.sin(a) };
  });

describe("arcs found again in flattened lines", () => {
  it("stay within 0.005 mm of the circle they were drawn as, at any radius, place and angle", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 400, max: 200_000 }),
        fc.integer({ min: 0, max: 400_000 }),
        fc.integer({ min: 0, max: 400_000 }),
        fc.double({ min: 0, max: 6.28, noNaN: true }),
        fc.double({ min: 0.3, max: 6, noNaN: true }),
        fc.boolean(),
        (r, cx, cy, from, sweep, back) => {
          const points = flattened(cx, cy, r, from, back ? -sweep : sweep);
          const { from: first, segments } = fitArcs(points, false);
          let at: Point = first;
          for (const s of segments) {
            for (const p of along(at, s)) expect(Math.abs(Math.hypot(p.x - cx, p.y - cy) - r)).toBeLessThanOrEqual(5);
            at = s.to;
          }
          expect(at).toEqual(points.at(-1));
          // A third of a turn at most each: no more arcs than that, and none left as chords.
          expect(segments.length).toBeLessThanOrEqual(Math.ceil(sweep / ((2 / 3) * Math.PI)) + 2);
        },
      ),
      { seed: 7, numRuns: 300 },
    );
  });

  it("takes a ring that is one circle for that, with its centre and radius", () => {
    const ring = flattened(mm(45), mm(15), mm(8), 0.3, 2 * Math.PI).slice(0, -1);
    const { circle } = fitArcs(ring, true);
    expect(circle?.radius).toBeCloseTo(mm(8), 0);
    expect(circle?.centre.x).toBeCloseTo(mm(45), 0);
    expect(circle?.centre.y).toBeCloseTo(mm(15), 0);
  });

  it("leaves polygons alone: a hexagon, a 24-sided nut, a rectangle's corners", () => {
    for (const sides of [4, 6, 24]) {
      const ring = Array.from({ length: sides }, (_, i) => ({
        x: Math.round(mm(20) * Math.cos((2 * Math.PI * i) / sides)),
        y: Math.round(mm(20) * Math.sin((2 * Math.PI * i) / sides)),
      }));
      const { segments, circle } = fitArcs(ring, true);
      expect(circle).toBeUndefined();
      expect(segments.map((s) => [s.kind, s.to])).toEqual([...ring.slice(1), ring[0]].map((p) => ["line", p]));
    }
  });

  it("never leaves the points of any curve by more than 2 µm, and ends where it began when closed", () => {
    const coordinate = fc.integer({ min: 0, max: 100_000 });
    const place = fc.record({ x: coordinate, y: coordinate });
    fc.assert(
      fc.property(place, place, place, place, (p, a, b, q) => {
        fc.pre(Math.hypot(p.x - q.x, p.y - q.y) > 100);
        const points = [p, ...flattenCubic<"sheet">(p, a, b, q)];
        const { segments } = fitArcs(points as Point<"sheet">[], true);
        expect(segments.at(-1)?.to).toEqual(p);
        let next = 0;
        for (const s of segments) {
          const end = points.indexOf(s.to as (typeof points)[number], next);
          if (s.kind === "arc")
            for (const m of points.slice(next, end === -1 ? undefined : end + 1))
              expect(Math.abs(Math.hypot(m.x - s.centre.x, m.y - s.centre.y) - s.radius)).toBeLessThanOrEqual(2.001);
          next = Math.max(end, next);
        }
      }),
      { seed: 9, numRuns: 200 },
    );
  });
});
