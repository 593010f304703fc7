import { clipPaths, insideOutlines, lengthOf, outlinesOf, type Path, type Point } from "@kitforme/geometry";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { box, corpus } from "../support/contours.ts";

const line = (...xy: readonly number[]): Point<"drawing">[] =>
  Array.from({ length: xy.length / 2 }, (_, i) => ({
    x: (xy[2 * i] as number) * 1000,
    y: (xy[2 * i + 1] as number) * 1000,
  }));
const holed = outlinesOf([box(0, 0, 20, 20), box(8, 8, 4, 4)]);
const total = (paths: readonly Path[]) => paths.reduce((sum, path) => sum + lengthOf(path), 0);

describe("by hand", () => {
  it("inside leaves out the window, outside is the rest, both in the direction drawn", () => {
    const through = line(-5, 10, 30, 10);
    expect(clipPaths([through], holed, "inside")).toEqual([line(0, 10, 8, 10), line(12, 10, 20, 10)]);
    expect(clipPaths([through], holed, "outside")).toEqual([
      line(-5, 10, 0, 10),
      line(8, 10, 12, 10),
      line(20, 10, 30, 10),
    ]);
    expect(clipPaths([through.toReversed()], holed, "inside")).toEqual([line(20, 10, 12, 10), line(8, 10, 0, 10)]);
  });
  it("keeps the corners of a bent line", () => {
    expect(clipPaths([line(1, 1, 5, 3, 2, 7)], holed, "inside")).toEqual([line(1, 1, 5, 3, 2, 7)]);
    expect(clipPaths([line(1, 1, 5, 3, 2, 7)], holed, "outside")).toEqual([]);
    expect(clipPaths([line(18, 1, 25, 1, 25, 5, 18, 5)], holed, "inside")).toEqual([
      line(18, 1, 20, 1),
      line(20, 5, 18, 5),
    ]);
  });
  it("a line along an edge is inside, on every side", () => {
    for (const edge of [
      line(2, 0, 9, 0),
      line(20, 2, 20, 9),
      line(2, 20, 9, 20),
      line(0, 2, 0, 9),
      line(9, 8, 11, 8),
    ]) {
      expect(clipPaths([edge], holed, "inside")).toEqual([edge]);
      expect(clipPaths([edge], holed, "outside")).toEqual([]);
    }
    expect(clipPaths([line(-3, 0, 25, 0)], holed, "outside")).toEqual([line(-3, 0, 0, 0), line(20, 0, 25, 0)]);
  });
  it("a line through a corner or touching one", () => {
    expect(clipPaths([line(-5, -5, 5, 5)], holed, "inside")).toEqual([line(0, 0, 5, 5)]);
    expect(clipPaths([line(-5, 5, 5, -5)], holed, "inside")).toEqual([]);
    expect(total(clipPaths([line(-5, 5, 5, -5)], holed, "outside"))).toBeCloseTo(lengthOf(line(-5, 5, 5, -5)));
  });
  it("no line gives none; without outlines all is outside", () => {
    expect(clipPaths([], holed, "inside")).toEqual([]);
    expect(clipPaths([line(0, 5, 9, 5)], [], "outside")).toEqual([line(0, 5, 9, 5)]);
    expect(clipPaths([line(0, 5, 9, 5)], [], "inside")).toEqual([]);
  });
});

it("the parts of chance lines add up, and each lies where it should", () => {
  const spot = fc.record({
    x: fc.integer({ min: -20_000, max: 140_000 }),
    y: fc.integer({ min: -20_000, max: 140_000 }),
  });
  fc.assert(
    fc.property(
      fc.constantFrom(...Object.values(corpus())),
      fc.array(spot, { minLength: 2, maxLength: 6 }),
      (outlines, path) => {
        const inside = clipPaths([path], outlines, "inside");
        const outside = clipPaths([path], outlines, "outside");
        const parts = inside.length + outside.length;
        expect(Math.abs(total(inside) + total(outside) - lengthOf(path))).toBeLessThanOrEqual(1.5 * parts + 1);
        for (const [side, all] of [
          [1, inside],
          [-1, outside],
        ] as const)
          for (const part of all)
            for (let i = 1; i < part.length; i++) {
              const [p, q] = [part[i - 1] as Point, part[i] as Point];
              // Rounded ends make a line of a few micrometres lie anywhere.
              if (Math.hypot(p.x - q.x, p.y - q.y) < 200) continue;
              expect(insideOutlines(outlines, { x: Math.round((p.x + q.x) / 2), y: Math.round((p.y + q.y) / 2) })).toBe(
                side,
              );
            }
      },
    ),
    { numRuns: 200, seed: 41 },
  );
});
