// Strip packing on the open instances: density = area of the pieces / (strip height * used length), checked with jsts.
import { execFile } from "node:child_process";
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { type Footprint, layStrip } from "@kitforme/nest";
import { type Bench, cpuSeconds, type Figure, median, type Options } from "./bench.ts";
import { type Polygon, turnedPolygon, worst } from "./check.ts";

interface Instance {
  readonly name: string;
  readonly stripHeight: number;
  readonly items: readonly {
    readonly quantity: number;
    readonly rotations: readonly number[];
    readonly polygon: Polygon;
  }[];
}

/** Height of the strip in the engine's units, about: a whole number of them for one of the instance, so that exact fits stay exact. */
const UNITS = 2_000_000;

/**
 * Peers, density in percent. `sure`: bottom-left fill with search (Burke et al. 2006, recalled by later papers); `mean`: best
 * mean published before 2025 (10 to 20 min); `record`: best single result before 2025; `late`: mean of 2025 (Gardeyn et al.,
 * arXiv 2509.13329, 20 min on three threads); `start`: one pass of an exact bottom-left fill.
 */
interface Peer {
  readonly sure?: number;
  readonly mean?: number;
  readonly record?: number;
  readonly late?: number;
  readonly start?: number;
}
const PEERS: Record<string, Peer> = {
  albano: { sure: 84.6, mean: 88.0, late: 89.47, start: 73.7 },
  blaz1: { sure: 77.7, late: 84.67, start: 71.2 },
  fu: { sure: 86.9, late: 92.23, start: 76.0 },
  jakobs1: { sure: 82.6, late: 89.08, start: 75.4 },
  jakobs2: { sure: 74.8, late: 84.76, start: 63.9 },
  mao: { sure: 79.5, mean: 83.8, late: 86.14, start: 78.6 },
  shapes0: { sure: 60.5, late: 68.59, start: 57.0 },
  shapes1: { sure: 66.5, late: 75.68, start: 60.9 },
  shirts: { sure: 84.6, mean: 88.2, record: 88.96, late: 89.66, start: 80.8 },
  swim: { sure: 68.4, mean: 74.7, record: 75.94, late: 78.26, start: 65.2 },
  trousers: { sure: 88.5, mean: 90.5, record: 91.06, late: 91.73, start: 77.5 },
  gardeyn1: { mean: 89, start: 79.4 },
  gardeyn9: { mean: 84, start: 76.0 },
};

/** What a run of so many seconds is to reach: half a point less than the mean of 2025 in five minutes, records in two. */
const goalOf = ({ sure, mean, record, late }: Peer, seconds: number): number | undefined =>
  seconds >= 300 && late !== undefined ? late - 0.5 : ((seconds >= 120 ? record : undefined) ?? mean ?? sure);

const areaOf = (polygon: Polygon): number =>
  Math.abs(
    polygon.reduce((sum, [x, y], i) => {
      const [u, v] = polygon[(i + 1) % polygon.length] as readonly [number, number];
      return sum + x * v - u * y;
    }, 0),
  ) / 2;

/** The clock, looked at every few calls: looking costs as much as a move. */
const clocked = (since: number, seconds: number): (() => number) => {
  let calls = 0;
  let done = 0;
  return () => {
    if (calls++ % 4 === 0) done = (cpuSeconds() - since) / seconds;
    return done;
  };
};

export const solve = (instance: Instance, seconds: number, seed: number) => {
  const units = UNITS / instance.stripHeight;
  const scale = units > 1 ? Math.floor(units) : units;
  const footprints: Footprint[] = instance.items.map((item, i) => ({
    id: String(i),
    shape: [
      { outer: item.polygon.map(([x, y]) => ({ x: Math.round(x * scale), y: Math.round(y * scale) })), openings: [] },
    ],
    core: [],
    turns: item.rotations,
  }));
  const pieces = instance.items.flatMap((item, i) => Array.from({ length: item.quantity }, () => i));
  const since = cpuSeconds();
  const result = layStrip({
    footprints,
    pieces,
    height: Math.round(instance.stripHeight * scale),
    seed,
    done: clocked(since, seconds),
  });
  const area = instance.items.reduce((sum, item) => sum + item.quantity * areaOf(item.polygon), 0);
  const length = result.length / scale;
  const placements = result.placements.map((p) => ({
    item: pieces[p.piece] as number,
    rotation: p.turn,
    x: p.x / scale,
    y: p.y / scale,
  }));
  const polygons = placements.map((p) =>
    turnedPolygon(instance.items[p.item]?.polygon as Polygon, p.rotation, p.x, p.y),
  );
  const { overlap, outside } = worst(polygons, length, instance.stripHeight);
  const mean = area / pieces.length;
  return {
    density: (100 * area) / (instance.stripHeight * length),
    start: (100 * area * scale) / (instance.stripHeight * result.start),
    length,
    placements,
    movesPerSecond: result.moves / (cpuSeconds() - since),
    // Rounding to the engine's units, as parts of a piece and of the strip's height.
    valid: overlap <= 1e-5 * mean && outside <= 2e-6 * instance.stripHeight,
    worstOverlap: overlap / mean,
  };
};

type Solved = ReturnType<typeof solve>;

/** The same in as many processes as there are cores, each with a seed of its own; the shortest strip counts. */
const solveOnCores = async (file: string, seconds: number, seed: number, cores: number): Promise<Solved> => {
  const entry = fileURLToPath(new URL("./index.ts", import.meta.url));
  const runs = await Promise.all(
    Array.from({ length: cores }, async (_, k) => {
      const asked = ["--instance", file, "--seconds", `${seconds}`, "--seed", `${seed * 100 + k}`];
      const { stdout } = await promisify(execFile)(process.execPath, [...process.execArgv, entry, ...asked], {
        maxBuffer: 1e8,
      });
      const { figures, layout } = JSON.parse(stdout) as { figures: Figure[]; layout: Pick<Solved, "placements"> };
      const value = (of: string): number => figures.find((f) => f.name === of)?.value ?? Number.NaN;
      return {
        density: value("density"),
        length: value("length"),
        placements: layout.placements,
        movesPerSecond: value("speed"),
        start: value("density of the start"),
        valid: value("valid") === 1,
        worstOverlap: value("worst overlap"),
      };
    }),
  );
  return runs.sort((a, b) => b.density - a.density)[0] as (typeof runs)[number];
};

const NAMES = [
  "albano",
  "blaz1",
  "dighe1",
  "dighe2",
  "fu",
  "gardeyn1",
  "gardeyn9",
  "jakobs1",
  "jakobs2",
  "mao",
  "poly1a",
  "shapes0",
  "shapes1",
  "shirts",
  "swim",
  "trousers",
];
const fileOf = (name: string): string =>
  fileURLToPath(new URL(`../../../fixtures/nesting/${name}.json`, import.meta.url));
const read = (name: string): Instance => JSON.parse(readFileSync(fileOf(name), "utf8")) as Instance;

export const bench: Bench = {
  name: "strip",
  takes: (instance) => "stripHeight" in instance,
  one: async (instance, { file, seconds, seed, cores }: Options) => {
    const { density, start, length, placements, valid, worstOverlap, movesPerSecond } =
      cores > 1 && file !== undefined
        ? await solveOnCores(file, seconds, seed, cores)
        : solve(instance as unknown as Instance, seconds, seed);
    return {
      figures: [
        { name: "density", value: density, unit: "%" },
        { name: "length", value: length, unit: "units of the instance" },
        { name: "density of the start", value: start, unit: "%" },
        { name: "valid", value: valid ? 1 : 0, unit: "1 = yes (jsts)" },
        { name: "worst overlap", value: worstOverlap, unit: "mean pieces" },
        { name: "speed", value: movesPerSecond, unit: "moves/s" },
      ],
      layout: { length, placements },
    };
  },
  all: async ({ seconds, seed, seeds, cores, names, say }) => {
    const figures: Figure[] = [];
    const left = NAMES.filter((name) => names.length > 0 && !names.includes(name)).map((name) => `strip ${name}`);
    for (const name of NAMES.filter((n) => names.length === 0 || names.includes(n))) {
      const runs: Solved[] = [];
      for (let k = 0; k < seeds; k++)
        runs.push(
          cores > 1 ? await solveOnCores(fileOf(name), seconds, seed + k, cores) : solve(read(name), seconds, seed + k),
        );
      for (const run of runs)
        if (!run.valid) throw new Error(`strip ${name}: overlap of ${run.worstOverlap} mean pieces`);
      const value = median(runs.map((r) => r.density));
      const peer = PEERS[name];
      const goal = peer ? goalOf(peer, seconds) : undefined;
      say(`${name}: ${runs.map((r) => r.density.toFixed(2)).join(", ")}; start ${runs[0]?.start.toFixed(2)}`);
      figures.push({
        name: `strip ${name}, ${seconds} s${cores > 1 ? ` on ${cores} cores` : ""}, median of ${seeds}`,
        value,
        unit: "%",
        ...(goal === undefined ? {} : { peer: goal, ratio: value / goal, goal, met: value > goal }),
      });
      const start = runs[0]?.start as number;
      figures.push({
        name: `strip ${name}, start`,
        value: start,
        unit: "%",
        ...(peer?.start === undefined
          ? {}
          : { peer: peer.start, ratio: start / peer.start, goal: peer.start, met: start >= peer.start }),
      });
    }
    return { figures, left };
  },
};
