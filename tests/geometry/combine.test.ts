import {
  intersect,
  type Outline,
  outlineArea,
  outlinesArea,
  outlinesOf,
  repaired,
  subtract,
  union,
  xor,
} from "@kitforme/geometry";
import { areaPaths, FillRule, intersect as theirIntersect, union as theirUnion } from "clipper2-ts";
import { describe, expect, it } from "vitest";
import { box, chance, corpus, star } from "../support/contours.ts";
import { shared, toJts, united, without } from "../support/jts.ts";

const one = (ring: Outline["outer"]): Outline[] => outlinesOf([ring]);
const a = one(box(0, 0, 20, 20));
const b = one(box(10, 10, 20, 20));

describe("boxes, by hand", () => {
  it("union, intersection, difference, both but not shared", () => {
    expect(outlinesArea(union(a, b))).toBe(700e6);
    expect(outlinesArea(intersect(a, b))).toBe(100e6);
    expect(outlinesArea(subtract(a, b))).toBe(300e6);
    expect(outlinesArea(xor(a, b))).toBe(600e6);
  });
  it("a window cut out is an opening, an island put back is an outline", () => {
    const holed = subtract(a, one(box(5, 5, 10, 10)));
    expect(holed).toHaveLength(1);
    expect(holed[0]?.openings).toHaveLength(1);
    expect(union(holed, one(box(8, 8, 2, 2)))).toHaveLength(2);
  });
  it("nothing is the neutral shape", () => {
    expect(union([], [])).toEqual([]);
    expect(intersect(a, [])).toEqual([]);
    expect(outlinesArea(union(a, []))).toBe(400e6);
    expect(outlinesArea(subtract(a, []))).toBe(400e6);
    expect(subtract([], a)).toEqual([]);
  });
  it("a ring that crosses itself is repaired by even and odd", () => {
    const eight = [
      [0, 0],
      [10, 10],
      [10, 0],
      [0, 10],
    ].map(([x = 0, y = 0]) => ({ x, y }));
    expect(outlinesArea(repaired([eight]))).toBe(50);
  });
});

describe("against JTS and clipper2", () => {
  const next = chance(3);
  const cases = Object.entries(corpus()).map(([name, outlines]) => {
    const dx = Math.floor(next() * 20_000);
    const dy = Math.floor(next() * 10_000) - 15_000;
    const other = star(7, 60, 0.4).map((p) => ({ x: p.x + dx, y: p.y + dy }));
    return [name, outlines, one(other)] as const;
  });
  it.each(cases)("%s with a star", (_, left, right) => {
    const [p, q] = [toJts(left), toJts(right)];
    // clipper rounds each meeting to the micrometre: a strip of half a micrometre along what may be some hundred millimetres.
    const slack = 5e5;
    expect(Math.abs(outlinesArea(union(left, right)) - united(p, q).getArea())).toBeLessThan(slack);
    expect(Math.abs(outlinesArea(intersect(left, right)) - shared(p, q).getArea())).toBeLessThan(slack);
    expect(Math.abs(outlinesArea(subtract(left, right)) - without(p, q).getArea())).toBeLessThan(slack);
    expect(outlinesArea(intersect(left, right))).toBeGreaterThan(0);
    const flat = (all: readonly Outline[]) =>
      all.flatMap((o) => [o.outer, ...o.openings].map((r) => r.map(({ x, y }) => ({ x, y }))));
    const theirs = areaPaths(theirUnion(flat(left), flat(right), FillRule.Positive));
    expect(Math.abs(outlinesArea(union(left, right)) - theirs)).toBeLessThan(slack);
    const both = areaPaths(theirIntersect(flat(left), flat(right), FillRule.Positive));
    expect(Math.abs(outlinesArea(intersect(left, right)) - both)).toBeLessThan(slack);
  });
  it.each(cases)("%s: the areas add up", (_, left, right) => {
    const sum = outlinesArea(union(left, right)) + outlinesArea(intersect(left, right));
    expect(Math.abs(sum - outlinesArea(left) - outlinesArea(right))).toBeLessThan(5e5);
    expect(outlinesArea(xor(left, right))).toBeCloseTo(
      outlinesArea(subtract(left, right)) + outlinesArea(subtract(right, left)),
      -6,
    );
  });
});

describe("nesting", () => {
  it("even depth is outer, odd depth an opening, whichever way and in whatever order the rings come", () => {
    const rings = [box(30, 30, 20, 20), box(0, 0, 80, 80), box(15, 15, 50, 50), box(100, 0, 5, 5)];
    const nested = outlinesOf(rings);
    expect(nested.map((o) => o.openings.length)).toEqual([1, 0, 0]);
    expect(nested.map(outlineArea)).toEqual([3900e6, 25e6, 400e6]);
    expect(outlinesOf(rings.toReversed().map((r) => r.toReversed())).map(outlineArea)).toEqual(nested.map(outlineArea));
  });
  it("rings that share corners nest by what lies off the line", () => {
    const nested = outlinesOf([box(0, 0, 20, 20), box(0, 0, 10, 10)]);
    expect(nested).toHaveLength(1);
    expect(outlineArea(nested[0] as Outline)).toBe(300e6);
    expect(outlinesOf([box(0, 0, 20, 20), box(20, 0, 10, 10)])).toHaveLength(2);
  });
  it("rings without area are dropped", () => {
    expect(
      outlinesOf([
        [
          { x: 0, y: 0 },
          { x: 5, y: 5 },
          { x: 9, y: 9 },
        ],
        [],
      ]),
    ).toEqual([]);
  });
});
