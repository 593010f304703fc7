import { breachesOf, type Footprint, layStrip } from "@kitforme/nest";
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { rectangle } from "./drawn.ts";
import { objections } from "./second-opinion.ts";

const HEIGHT = 1_000_000;

/** An open instance in the engine's units; sources in the files. */
const read = (name: string) => {
  const instance = JSON.parse(
    readFileSync(new URL(`../../fixtures/nesting/${name}.json`, import.meta.url), "utf8"),
  ) as {
    stripHeight: number;
    areaOverHeight: number;
    items: { quantity: number; rotations: number[]; polygon: [number, number][] }[];
  };
  const scale = HEIGHT / instance.stripHeight;
  const footprints = instance.items.map((item, k): Footprint => {
    const outer = item.polygon.map(([x, y]) => ({ x: Math.round(x * scale), y: Math.round(y * scale) }));
    return { id: `piece ${k}`, shape: [{ outer, openings: [] }], core: [], turns: item.rotations };
  });
  const pieces = instance.items.flatMap((item, k) => Array.from({ length: item.quantity }, () => k));
  return { footprints, pieces, full: instance.areaOverHeight * scale };
};

describe("layStrip", () => {
  // Least densities of the constructive start: one pass of an exact bottom-left fill, measured for the literature notes.
  it.each([
    ["shapes1", 60.9],
    ["blaz1", 71.2],
    ["mao", 78.6],
    ["albano", 73.7],
  ])("%s: valid by two opinions, start no worse than bottom-left fill, search better than start", (name, least) => {
    const { footprints, pieces, full } = read(name);
    let sweeps = 0;
    const result = layStrip({ footprints, pieces, height: HEIGHT, seed: 1, done: () => sweeps++ / 400 });
    expect((100 * full) / result.start).toBeGreaterThanOrEqual(least);
    expect(result.length).toBeLessThan(result.start);
    const width = Math.ceil(result.length);
    const area = { x: 0, y: 0, width, height: HEIGHT };
    const field = { id: "strip", width, height: HEIGHT, bounds: area, coreBounds: area, keepOuts: [], clearance: 0 };
    const placed = result.placements.map((p) => ({ ...p, footprint: pieces[p.piece] ?? -1 }));
    expect(placed).toHaveLength(pieces.length);
    expect(breachesOf(placed, footprints, field)).toEqual([]);
    expect(objections(placed, footprints, field)).toEqual([]);
  });

  // The squared rectangle of order nine (Moron 1925, from memory; 1 + 16 + 49 + 64 + 81 + 100 + 196 + 225 + 324 = 32 * 33):
  // nothing is left over, so that every square has to lie exactly where it touches its neighbours.
  it("finds the squared rectangle of nine squares", () => {
    const unit = 30_000;
    const sides = [1, 4, 7, 8, 9, 10, 14, 15, 18];
    const footprints = sides.map(
      (side, k): Footprint => ({
        id: `square ${k}`,
        shape: [{ outer: rectangle(side * unit, side * unit), openings: [] }],
        core: [],
        turns: [0],
      }),
    );
    const pieces = sides.map((_, k) => k);
    let sweeps = 0;
    const { length, start } = layStrip({ footprints, pieces, height: 32 * unit, seed: 1, done: () => sweeps++ / 3000 });
    expect(start).toBeGreaterThan(34 * unit);
    expect(length).toBeGreaterThanOrEqual(33 * unit);
    expect(length).toBeLessThan(33.01 * unit);
  });
});
