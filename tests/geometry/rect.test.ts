import { area, containsRect, contourOf, inset, overlapOf, rectHas, touches, unionOf } from "@kitforme/geometry";
import { expect, it } from "vitest";

const a = { x: 0, y: 0, width: 100, height: 60 };

it("inset moves every side and never turns over", () => {
  expect(inset(a, 10)).toEqual({ x: 10, y: 10, width: 80, height: 40 });
  expect(inset(a, -10)).toEqual({ x: -10, y: -10, width: 120, height: 80 });
  expect(inset(a, 40)).toEqual({ x: 40, y: 30, width: 20, height: 0 });
});
it("both edges belong to the box", () => {
  expect(containsRect(a, a)).toBe(true);
  expect(containsRect(a, { ...a, x: 1 })).toBe(false);
  expect([rectHas(a, { x: 100, y: 60 }), rectHas(a, { x: 101, y: 0 })]).toEqual([true, false]);
  expect(touches(a, { ...a, x: 100 })).toBe(true);
  expect(touches(a, { ...a, x: 103 })).toBe(false);
  expect(touches(a, { ...a, x: 103 }, 3)).toBe(true);
});
it("union, overlap and contour", () => {
  expect(unionOf(a, { x: 90, y: 50, width: 20, height: 20 })).toEqual({ x: 0, y: 0, width: 110, height: 70 });
  expect(overlapOf(a, { x: 90, y: 50, width: 20, height: 20 })).toEqual({ x: 90, y: 50, width: 10, height: 10 });
  expect(overlapOf(a, { x: 101, y: 0, width: 5, height: 5 })).toBeUndefined();
  expect(area(contourOf(a))).toBe(6000);
});
