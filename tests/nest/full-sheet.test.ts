import { breachesOf, fullSheet } from "@kitforme/nest";
import { describe, expect, it } from "vitest";
import { kitPieces, kitSheet } from "../layout/runs/drawn-kits.ts";
import { rectangle } from "./drawn.ts";
import { objections } from "./second-opinion.ts";

const sheet = (width: number, height: number, clearance: number) => ({
  id: "sheet",
  width,
  height,
  bounds: { x: 0, y: 0, width, height },
  coreBounds: { x: 0, y: 0, width, height },
  keepOuts: [],
  clearance,
});
const polygon = (...points: (readonly [number, number])[]) => [
  { outer: points.map(([x, y]) => ({ x, y })), openings: [] },
];

describe("fullSheet", () => {
  it.each([
    // Cards with no gap: eleven by twenty.
    ["cards", polygon([0, 0], [20_000, 0], [20_000, 10_000], [0, 10_000]), [0], 0, 220],
    // Right-angled triangles, two to a square of 20 mm.
    ["triangles", polygon([0, 0], [20_000, 0], [0, 20_000]), [0, 180], 0, 220],
    // A clearance of 1 mm: (220 + 1) / 21 by (200 + 1) / 11.
    ["cards apart", polygon([0, 0], [20_000, 0], [20_000, 10_000], [0, 10_000]), [0], 1000, 180],
  ] as const)("lays as many %s as there can be", (_, shape, turns, clearance, most) => {
    const footprint = { id: "piece", shape, core: shape, turns };
    const places = fullSheet(footprint, sheet(220_000, 200_000, clearance));
    expect(places).toHaveLength(most);
    const placed = places.map((place) => ({ footprint: 0, ...place }));
    expect(breachesOf(placed, [footprint], sheet(220_000, 200_000, clearance))).toEqual([]);
  });

  it("keeps every rule with kit pieces, bleed, marks and clearance", { timeout: 120_000 }, () => {
    for (const piece of kitPieces(2, 5)) {
      const places = fullSheet(piece, kitSheet());
      expect(places.length).toBeGreaterThan(1);
      const placed = places.map((place) => ({ footprint: 0, ...place }));
      expect(breachesOf(placed, [piece], kitSheet())).toEqual([]);
      expect(objections(placed, [piece], kitSheet())).toEqual([]);
    }
  });

  it("stops at the most that is wanted, and at nothing where none fits", () => {
    const outer = rectangle(20_000, 10_000);
    const footprint = { id: "card", shape: [{ outer, openings: [] }], core: [{ outer, openings: [] }], turns: [0] };
    expect(fullSheet(footprint, sheet(220_000, 200_000, 0), 7)).toHaveLength(7);
    expect(fullSheet(footprint, sheet(15_000, 200_000, 0))).toEqual([]);
  });
});
