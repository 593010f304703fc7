import { breachesOf, type Field, type Footprint, verifyForme } from "@kitforme/nest";
import { describe, expect, it } from "vitest";
import { disc, rectangle } from "./drawn.ts";

const square: Footprint = {
  id: "square",
  shape: [{ outer: rectangle(20_000, 20_000, -3000, -3000), openings: [] }],
  core: [{ outer: rectangle(14_000, 14_000), openings: [] }],
  turns: [0, 90],
  axis: "x",
};
const sheet: Field = {
  id: "card",
  width: 100_000,
  height: 100_000,
  bounds: { x: 5000, y: 5000, width: 90_000, height: 90_000 },
  coreBounds: { x: 10_000, y: 10_000, width: 80_000, height: 80_000 },
  keepOuts: [disc(32, 4000, 90_000, 90_000)],
  clearance: 1000,
  axis: "x",
};
const at = (x: number, y: number, turn = 0) => ({ footprint: 0, turn, x, y });

describe("verifyForme", () => {
  it("lets a valid sheet pass", () => {
    expect(() => verifyForme([at(10_000, 10_000), at(31_000, 10_000)], [square], sheet)).not.toThrow();
  });

  it.each([
    ["too near by 3 micrometres", [at(10_000, 10_000), at(30_997, 10_000)], /nearer than 1 mm/],
    ["one on the other", [at(10_000, 10_000), at(10_000, 10_000)], /nearer than 1 mm/],
    ["trim past the cutter", [at(9999, 10_000)], /leaves what the field grants its core/],
    ["bleed past the press", [at(5000, 20_000)], /leaves the field/],
    ["on a mark", [at(70_500, 70_500)], /lies on keep-out 1/],
    ["a turn not allowed", [at(40_000, 40_000, 180)], /may only be turned by 0, 90/],
    ["across the grain", [at(40_000, 40_000, 90)], /lies across the field/],
    ["between micrometres", [at(40_000.5, 40_000)], /not at whole micrometres/],
  ])("names the breach: %s", (_, placed, sentence) => {
    expect(() => verifyForme(placed, [square], sheet)).toThrow(sentence);
  });

  it("finds a piece inside another although no edges meet", () => {
    const small: Footprint = {
      ...square,
      id: "small",
      shape: [{ outer: rectangle(2000, 2000), openings: [] }],
      core: [],
      turns: [0],
    };
    const breaches = breachesOf(
      [at(20_000, 20_000), { footprint: 1, turn: 0, x: 25_000, y: 25_000 }],
      [square, small],
      sheet,
    );
    expect(breaches).toHaveLength(1);
  });

  it("lets pieces without clearance touch, and forgives no overlap beyond rounding", () => {
    const bare = { ...sheet, clearance: 0 };
    expect(breachesOf([at(20_000, 20_000), at(40_000, 20_000)], [square], bare)).toEqual([]);
    expect(breachesOf([at(20_000, 20_000), at(39_996, 20_000)], [square], bare)).toHaveLength(1);
  });
});
