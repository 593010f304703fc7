// The ganging set: rectangles by cuts from edge to edge, one layout that holds every job, fewest impressions. The set does not
// say whether jobs may be turned; here they may (several sheets are only filled by turned jobs).
import { readFileSync } from "node:fs";
import { gangRectangles, type RectanglesPlan } from "@kitforme/layout";
import { type Bench, cpuSeconds, type Figure } from "./bench.ts";

interface Instance {
  readonly name: string;
  readonly sheet: readonly [number, number];
  readonly jobs: readonly (readonly [width: number, height: number, copies: number])[];
}

/** Layouts rebuilt; about twenty seconds on one core of 2020. */
const REBUILT = 3_000_000;

type Box = RectanglesPlan["placed"][number];

/** Whether cuts from edge to edge part the boxes: looks for one cut that crosses no box, then into both halves. */
const parts = (boxes: readonly Box[]): boolean => {
  if (boxes.length < 2) return true;
  for (const [from, extent] of [
    ["x", "width"],
    ["y", "height"],
  ] as const)
    for (const at of new Set(boxes.map((b) => b[from]))) {
      const low = boxes.filter((b) => b[from] + b[extent] <= at);
      const high = boxes.filter((b) => b[from] >= at);
      if (low.length > 0 && high.length > 0 && low.length + high.length === boxes.length)
        return parts(low) && parts(high);
    }
  return false;
};

const valid = ({ sheet, jobs }: Instance, { placed, run }: RectanglesPlan): boolean =>
  placed.every((b) => {
    const [w, h] = jobs[b.job] as Instance["jobs"][number];
    const size = (b.width === w && b.height === h) || (b.width === h && b.height === w);
    return size && b.x >= 0 && b.y >= 0 && b.x + b.width <= sheet[0] && b.y + b.height <= sheet[1];
  }) &&
  jobs.every(([, , copies], j) => placed.filter((b) => b.job === j).length * run >= copies) &&
  parts(placed);

const solve = (instance: Instance, seconds: number | undefined, seed: number) => {
  const since = cpuSeconds();
  const plan = gangRectangles({
    sheet: { width: instance.sheet[0], height: instance.sheet[1] },
    jobs: instance.jobs.map(([width, height, copies]) => ({ width, height, copies })),
    turns: true,
    seed,
    iterations: seconds === undefined ? REBUILT : 1e12,
    ...(seconds === undefined
      ? {}
      : {
          signal: {
            get aborted() {
              return cpuSeconds() - since >= seconds;
            },
          },
        }),
  });
  if (!plan) throw new Error(`${instance.name}: not one of each job was placed`);
  if (!valid(instance, plan)) throw new Error(`${instance.name}: invalid`);
  return { plan, seconds: cpuSeconds() - since };
};

export const bench: Bench = {
  name: "ganging",
  takes: (instance) => "jobs" in instance || "instances" in instance,
  one: async (raw, { seconds, seed, names }) => {
    const all = ("instances" in raw ? raw["instances"] : [raw]) as readonly Instance[];
    const figures: Figure[] = [];
    const layout: unknown[] = [];
    for (const instance of all.filter((i) => names.length === 0 || names.includes(i.name))) {
      const { plan } = solve(instance, seconds, seed);
      figures.push({
        name: all.length === 1 ? "sheets" : `sheets ${instance.name}`,
        value: plan.run,
        unit: "impressions",
        peer: plan.bound,
        ratio: plan.run / plan.bound,
      });
      layout.push({ name: instance.name, run: plan.run, placed: plan.placed });
    }
    return { figures, layout };
  },
  all: async ({ names, seed, say }) => {
    const file = new URL("../../../fixtures/ganging/ganging.json", import.meta.url);
    const { instances } = JSON.parse(readFileSync(file, "utf8")) as { instances: readonly Instance[] };
    const figures: Figure[] = [];
    const left: string[] = [];
    for (const instance of instances) {
      if (names.length > 0 && !names.includes(instance.name)) {
        left.push(`ganging ${instance.name}`);
        continue;
      }
      const { plan, seconds } = solve(instance, undefined, seed);
      say(
        `${instance.name}: ${plan.run} impressions, bound ${plan.bound}${plan.proven ? ", proven least" : ""}, ${seconds.toFixed(1)} s`,
      );
      const goal = Math.floor(1.05 * plan.bound);
      figures.push({
        name: `ganging ${instance.name}${plan.proven ? " (proven least)" : ""}`,
        value: plan.run,
        unit: "impressions",
        peer: plan.bound,
        ratio: plan.run / plan.bound,
        ...(instance.name.startsWith("HGJ") ? { goal, met: plan.run <= goal } : {}),
      });
    }
    return { figures, left };
  },
};
