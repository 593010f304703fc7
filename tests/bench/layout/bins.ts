// Irregular bin packing on open instances: sheets used, with four turns, checked with jsts.
import { readFileSync } from "node:fs";
import { type Field, type Footprint, pack } from "@kitforme/nest";
import { type Bench, cpuSeconds, type Figure, type Options } from "./bench.ts";
import { type Polygon, turnedPolygon, worst } from "./check.ts";

interface Instance {
  readonly name: string;
  readonly bin: readonly [number, number];
  readonly bestKnown: { readonly bins: number } | null;
  readonly items: readonly {
    readonly quantity: number;
    readonly rotations: readonly number[];
    readonly polygon: Polygon;
  }[];
}

/** Whole units of the engine per unit of the instance. */
const SCALE = 1000;

const areaOf = (polygon: Polygon): number =>
  Math.abs(
    polygon.reduce((sum, [x, y], i) => {
      const [u, v] = polygon[(i + 1) % polygon.length] as readonly [number, number];
      return sum + x * v - u * y;
    }, 0),
  ) / 2;

export const solve = async (instance: Instance, seconds: number, seed: number) => {
  const [width, height] = instance.bin.map((v) => v * SCALE) as [number, number];
  const area = { x: 0, y: 0, width, height };
  const field: Field = { id: "bin", width, height, bounds: area, coreBounds: area, keepOuts: [], clearance: 0 };
  const footprints: Footprint[] = instance.items.map((item, i) => ({
    id: String(i),
    shape: [{ outer: item.polygon.map(([x, y]) => ({ x: x * SCALE, y: y * SCALE })), openings: [] }],
    core: [],
    turns: item.rotations,
  }));
  const items = instance.items
    .flatMap((item, i) => Array.from({ length: item.quantity }, () => i))
    .map((footprint, key) => ({ footprint, key }));
  const bound = Math.ceil(
    instance.items.reduce((sum, item) => sum + item.quantity * areaOf(item.polygon), 0) /
      (instance.bin[0] * instance.bin[1]) -
      1e-9,
  );
  const since = cpuSeconds();
  const stop = (): boolean => cpuSeconds() - since >= seconds;
  let best = await pack({ footprints, fields: [field], items, effort: "normal", seed, stop });
  for (let k = 1; best.sheets.length > bound && !stop(); k++) {
    const next = await pack({ footprints, fields: [field], items, effort: "best", seed: seed + 7919 * k, stop });
    if (next.sheets.length < best.sheets.length) best = next;
  }
  const sheets = best.sheets.map((s) =>
    s.placements.map((p) => ({
      item: items[p.key]?.footprint as number,
      rotation: p.turn,
      x: p.x / SCALE,
      y: p.y / SCALE,
    })),
  );
  let valid = best.leftovers.length === 0;
  const mean = (bound * instance.bin[0] * instance.bin[1]) / items.length;
  for (const sheet of sheets) {
    const { overlap, outside } = worst(
      sheet.map((p) => turnedPolygon(instance.items[p.item]?.polygon as Polygon, p.rotation, p.x, p.y)),
      ...instance.bin,
    );
    if (overlap > 1e-5 * mean || outside > 1e-6 * instance.bin[0]) valid = false;
  }
  const fills = sheets.map(
    (s) =>
      s.reduce((sum, p) => sum + areaOf(instance.items[p.item]?.polygon as Polygon), 0) /
      (instance.bin[0] * instance.bin[1]),
  );
  return { sheets, bound, valid, filled: fills.reduce((sum, u) => sum + u * u, 0) / fills.length };
};

const NAMES = ["TA001", "TG001", "TO001", "TS001C5", "TZ001C20"];
const read = (name: string): Instance =>
  JSON.parse(readFileSync(new URL(`../../../fixtures/binpacking/${name}.json`, import.meta.url), "utf8")) as Instance;

export const bench: Bench = {
  name: "bins",
  takes: (instance) => "bin" in instance,
  one: async (instance, { seconds, seed }: Options) => {
    const { sheets, bound, valid, filled } = await solve(instance as unknown as Instance, seconds, seed);
    return {
      figures: [
        { name: "sheets", value: sheets.length, unit: "sheets", peer: bound, ratio: sheets.length / bound },
        { name: "mean square fill", value: filled, unit: "1" },
        { name: "valid", value: valid ? 1 : 0, unit: "1 = yes (jsts)" },
      ],
      layout: { sheets },
    };
  },
  all: async ({ seconds, seed, names, say }) => {
    const figures: Figure[] = [];
    const left = NAMES.filter((name) => names.length > 0 && !names.includes(name)).map((name) => `bins ${name}`);
    for (const name of NAMES.filter((n) => names.length === 0 || names.includes(n))) {
      const instance = read(name);
      const { sheets, bound, valid, filled } = await solve(instance, seconds, seed);
      if (!valid) throw new Error(`bins ${name}: invalid`);
      // Zero-waste instances: one sheet more than the published jigsaw is the goal of the field.
      const peer = instance.bestKnown?.bins ?? bound;
      say(`${name}: ${sheets.length} sheets, bound ${bound}, mean square fill ${filled.toFixed(3)}`);
      figures.push({
        name: `bins ${name}, ${seconds} s`,
        value: sheets.length,
        unit: "sheets",
        peer,
        ratio: sheets.length / peer,
        goal: peer + 1,
        met: sheets.length <= peer + 1,
      });
    }
    return { figures, left };
  },
};
