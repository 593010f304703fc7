// How time and memory grow with the job, and 10,000 small jobs that must all keep every rule.
import { gang, type GangRequest } from "@kitforme/layout";
import { kitCopies, kitPieces, kitSheet } from "../../layout/runs/drawn-kits.ts";
import { anyRequest, faultsOf } from "../../layout/runs/drawn-orders.ts";
import { type Bench, cpuSeconds, type Figure } from "./bench.ts";
import { turnedPolygon, worst } from "./check.ts";

const JOBS = 10_000;
/** Pieces, and the shapes among them. */
const SIZES = [
  [50, 12],
  [500, 60],
  [5000, 200],
] as const;

const request = (pieces: number, kinds: number, effort: GangRequest["effort"]): GangRequest => ({
  footprints: kitPieces(kinds, 1),
  fields: [kitSheet()],
  demands: kitCopies(kinds, pieces, 1).map((copies, k) => ({
    id: `demand ${k}`,
    footprint: k,
    copies,
    personal: false,
    groups: [],
  })),
  setup: { sheetChange: 1, newLayout: 20 },
  overs: { sheets: 0, share: 0 },
  effort,
  threads: 2,
});

/** Breaches found by jsts: pieces without openings that share area, or leave the sheet. */
const secondOpinion = (asked: GangRequest, plan: Awaited<ReturnType<typeof gang>>): number => {
  let breaches = 0;
  for (const forme of plan.formes) {
    const field = asked.fields[forme.field];
    const polygons = forme.placements.flatMap((p) => {
      const shape = asked.footprints[asked.demands[p.demand]?.footprint ?? -1]?.shape ?? [];
      if (shape.some((o) => o.openings.length > 0)) return [];
      return shape.map((o) =>
        turnedPolygon(
          o.outer.map(({ x, y }) => [x, y] as const),
          p.turn,
          p.x,
          p.y,
        ),
      );
    });
    const { overlap, outside } = worst(polygons, field?.width ?? 0, field?.height ?? 0);
    // Two micrometres of rounding along half a metre.
    if (overlap > 1e6 || outside > 2) breaches++;
  }
  return breaches;
};

export const bench: Bench = {
  name: "scale",
  takes: () => false,
  one: () => Promise.reject(new Error("scale: no instances of this form")),
  all: async ({ names, seed, say }) => {
    const figures: Figure[] = [];
    const left: string[] = [];
    for (const [pieces, kinds] of SIZES) {
      if (names.length > 0 && !names.includes(String(pieces))) {
        left.push(`scale ${pieces} pieces`);
        continue;
      }
      for (const effort of pieces > 500 ? (["quick"] as const) : (["quick", "normal"] as const)) {
        const asked = request(pieces, kinds, effort);
        const since = cpuSeconds();
        const start = performance.now();
        const plan = await gang(asked);
        const seconds = cpuSeconds() - since;
        const wall = (performance.now() - start) / 1000;
        const peak = process.resourceUsage().maxRSS / 1024;
        const faults = faultsOf(asked, plan);
        if (faults.length > 0) throw new Error(`scale ${pieces}: ${faults[0]}`);
        const sheets = plan.formes.reduce((n, f) => n + f.run, 0);
        const geometries = new Set(plan.formes.map((f) => f.geometry)).size;
        say(
          `${pieces} pieces of ${kinds} shapes, ${effort}: ${sheets} sheets (bound ${plan.bound.sheets}) on ${geometries} layouts, cost ${plan.cost}, ${seconds.toFixed(1)} s CPU, ${wall.toFixed(1)} s, ${peak.toFixed(0)} MB`,
        );
        const name = `scale ${pieces} pieces of ${kinds} shapes, ${effort}`;
        const limits = pieces === 500 && effort === "normal";
        figures.push(
          { name: `${name}, CPU`, value: seconds, unit: "s", ...(limits ? { goal: 120, met: wall < 60 } : {}) },
          { name: `${name}, peak memory`, value: peak, unit: "MB", ...(limits ? { goal: 500, met: peak < 500 } : {}) },
          {
            name: `${name}, cost`,
            value: plan.cost,
            unit: "cost",
            peer: plan.bound.cost,
            ratio: plan.cost / plan.bound.cost,
          },
        );
      }
    }
    if (names.length > 0 && !names.includes("law")) left.push("10,000 random jobs");
    else {
      let breaches = 0;
      for (let k = 0; k < JOBS; k++) {
        const asked = anyRequest(seed * 1_000_003 + k);
        const plan = await gang(asked);
        const found = faultsOf(asked, plan);
        const second = secondOpinion(asked, plan);
        if (found.length > 0 || second > 0) say(`job ${k}: ${found[0] ?? "jsts finds an overlap"}`);
        breaches += found.length + second;
        if (k % 500 === 499) say(`${k + 1} random jobs, ${breaches} breaches`);
      }
      figures.push({
        name: `breaches in ${JOBS} random jobs`,
        value: breaches,
        unit: "breaches",
        goal: 0,
        met: breaches === 0,
      });
    }
    return { figures, left };
  },
};
