import {
  apply,
  area,
  type Matrix,
  matrixOf,
  multiply,
  outlinesArea,
  outlinesOf,
  place,
  placeAll,
  placeOutlines,
  point,
} from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { corpus } from "../support/contours.ts";

const entry = fc.double({ min: -10, max: 10, noNaN: true });
const matrix = fc.tuple(entry, entry, entry, entry, entry, entry) as fc.Arbitrary<Matrix>;
const coordinate = fc.integer({ min: -500_000, max: 500_000 });
const placing = fc.record({ degrees: fc.double({ min: 0, max: 360, noNaN: true }), e: coordinate, f: coordinate });

describe("matrices", () => {
  it("multiply is associative and means one after the other", () => {
    fc.assert(
      fc.property(matrix, matrix, matrix, coordinate, coordinate, (a, b, c, x, y) => {
        const one = multiply(multiply(a, b), c);
        const two = multiply(a, multiply(b, c));
        one.forEach((v, i) => expect(v).toBeCloseTo(two[i] as number, 6));
        const [px, py] = apply(multiply(a, b), x, y);
        const [qx, qy] = apply(a, ...apply(b, x, y));
        expect(Math.hypot(px - qx, py - qy)).toBeLessThan(1e-6 * (1 + Math.abs(px) + Math.abs(py) + 1e6));
      }),
      { seed: 11 },
    );
  });
});

describe("placing", () => {
  it("keeps every distance to the rounding of two points", () => {
    fc.assert(
      fc.property(placing, coordinate, coordinate, coordinate, coordinate, (where, x1, y1, x2, y2) => {
        const m = matrixOf(where);
        const [p, q] = [place(m, point(x1, y1)), place(m, point(x2, y2))];
        const moved = Math.hypot(p.x - q.x, p.y - q.y);
        // Each point moves by at most half the diagonal of a square micrometre.
        expect(Math.abs(moved - Math.hypot(x1 - x2, y1 - y2))).toBeLessThanOrEqual(Math.SQRT2 + 1e-6);
      }),
      { seed: 12, numRuns: 300 },
    );
  });

  it("turns the drawing over: what is top left in the drawing (y down) is top left on the sheet (y up)", () => {
    const m = matrixOf({ degrees: 0, e: 1000, f: 9000 });
    expect(place(m, point(0, 0))).toEqual({ x: 1000, y: 9000 });
    expect(place(m, point(0, 500))).toEqual({ x: 1000, y: 8500 });
    expect(place(matrixOf({ degrees: 90, e: 0, f: 0 }), point(700, 0))).toEqual({ x: 0, y: 700 });
  });

  it.each(Object.entries(corpus()))(
    "%s keeps winding, openings and (at quarter turns) its exact area",
    (_, outlines) => {
      for (const degrees of [0, 90, 180, 270, 33.3]) {
        const m = matrixOf({ degrees, e: 200_000, f: 300_000 });
        const placed = placeOutlines(m, outlines);
        expect(placed.map((o) => o.openings.length)).toEqual(outlines.map((o) => o.openings.length));
        for (const { outer, openings } of placed) {
          expect(area(outer)).toBeGreaterThan(0);
          for (const opening of openings) expect(area(opening)).toBeLessThan(0);
        }
        if (degrees % 90 === 0) expect(outlinesArea(placed)).toBe(outlinesArea(outlines));
        else expect(outlinesArea(placed) / outlinesArea(outlines)).toBeCloseTo(1, 4);
        // The same corners, whichever way round.
        const key = (p: { x: number; y: number }) => `${p.x} ${p.y}`;
        outlines.forEach((o, i) =>
          expect(placed[i]?.outer.map(key).sort()).toEqual(placeAll(m, o.outer).map(key).sort()),
        );
      }
    },
  );

  it("nests again to the same outlines", () => {
    const placed = placeOutlines(matrixOf({ degrees: 90, e: 0, f: 0 }), corpus()["island-in-an-opening"] ?? []);
    const again = outlinesOf(placed.flatMap((o) => [o.outer, ...o.openings]));
    expect(again).toHaveLength(2);
    expect(outlinesArea(again)).toBe(outlinesArea(placed));
  });
});
