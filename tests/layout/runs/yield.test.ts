import { yieldOf } from "@kitforme/layout";
import { expect, it } from "vitest";
import { rectangle } from "../../nest/drawn.ts";

it("yields the share of the sheet inside the cut outlines, less openings", () => {
  const print = { x: 0, y: 0, width: 100, height: 100 };
  const field = { id: "sheet", width: 100, height: 100, bounds: print, coreBounds: print, keepOuts: [], clearance: 0 };
  const frame = { outer: rectangle(40, 40), openings: [rectangle(20, 20, 10, 10).toReversed()] };
  const bled = { outer: rectangle(60, 60, -10, -10), openings: [] };
  const footprint = { id: "frame", shape: [bled], core: [frame], turns: [0] };
  const demand = { id: "frame", footprint: 0, copies: 2, personal: false, groups: [] };
  const placements = [0, 50].map((x) => ({ demand: 0, turn: 0, x, y: 0 }));
  // 2 x (40 x 40 - 20 x 20) of 100 x 100
  expect(yieldOf({ field: 0, placements }, [demand], [footprint], [field])).toBe(0.24);
});
