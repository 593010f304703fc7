import fc from "fast-check";
import { expect, it } from "vitest";
import { type Contour, type Matrix, outlinesBounds, placedBounds, placeOutlines } from "@kitforme/geometry";

const um = fc.integer({ min: -500_000, max: 500_000 });
const ring = fc
  .array(fc.record({ x: um, y: um }), { minLength: 3, maxLength: 12 })
  .map((points): Contour<"drawing"> => points);

it("the box of placed outlines is that of the outlines laid there, whatever the turn and the place", () => {
  fc.assert(
    fc.property(
      fc.array(ring, { minLength: 1, maxLength: 3 }),
      fc.double({ min: 0, max: 360, noNaN: true }),
      um,
      um,
      (rings, turn, e, f) => {
        const [cos, sin] = [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)];
        const matrix: Matrix = [cos, sin, sin, -cos, e, f];
        const outlines = rings.map((outer) => ({ outer, openings: [] }));
        const { x, y, width, height } = outlinesBounds(placeOutlines(matrix, outlines));
        const placed = placedBounds(matrix, outlines);
        // 0 and -0 are one place.
        expect([placed.x + 0, placed.y + 0, placed.width, placed.height]).toEqual([x + 0, y + 0, width, height]);
      },
    ),
  );
});
