import { readFileSync } from "node:fs";
import { planRuns, type RunsPlan, type RunsRequest } from "@kitforme/layout";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

interface Instance {
  readonly slots: number;
  readonly demands: readonly number[];
  readonly costPerSheet: number;
  readonly costPerPlate: number;
}
const read = (name: string): Instance =>
  JSON.parse(
    readFileSync(new URL(`../../../fixtures/coverprinting/${name}.json`, import.meta.url), "utf8"),
  ) as Instance;

const expectValid = ({ slots, demands, cost }: RunsRequest, plan: RunsPlan): void => {
  for (const row of plan.counts) expect(row.reduce((a, b) => a + b, 0)).toBeLessThanOrEqual(slots);
  demands.forEach((d, i) => {
    const made = plan.runs.reduce((sum, run, j) => sum + run * (plan.counts[j]?.[i] ?? 0), 0);
    expect(made).toBeGreaterThanOrEqual(d);
  });
  const sheets = plan.runs.reduce((a, b) => a + b, 0);
  expect(plan.sheets).toBe(sheets);
  expect(plan.cost).toBeCloseTo(cost.sheet * sheets + cost.layout * plan.runs.length, 6);
  expect(plan.cost).toBeGreaterThanOrEqual(plan.bound.cost - 1e-9);
};

describe("planRuns", () => {
  // CSPLib problem 002 (Proll, Smith 1998): 550, 418 and 408 are the listed optima for one, two and three templates.
  it.each([
    ["csplib002-catfood", 1, 550],
    ["csplib002-catfood", 2, 418],
    ["csplib002-catfood", 3, 408],
    ["csplib002-herbs", 1, 115],
  ])("prints %s on %i layouts with %i sheets", (name, layouts, sheets) => {
    const { slots, demands } = read(name);
    const request = { slots, demands, layouts, cost: { sheet: 1, layout: 0 } };
    const plan = planRuns(request);
    expect(plan).toBeDefined();
    expectValid(request, plan as RunsPlan);
    expect(plan).toMatchObject({ sheets, proven: true });
  });

  // Proven optima of the collection by enumeration (I001, I002), best known (I005, I007).
  it.each([
    ["i001", 136_472],
    ["i002", 247_916.48],
    ["i005", 269_584],
    ["i007", 5283.53],
  ])("prints %s for %d", (name, cost) => {
    const { slots, demands, costPerSheet, costPerPlate } = read(name);
    const request = { slots, demands, cost: { sheet: costPerSheet, layout: costPerPlate }, iterations: 400_000 };
    const plan = planRuns(request) as RunsPlan;
    expectValid(request, plan);
    expect(plan.cost).toBeLessThanOrEqual(cost + 0.005);
  });

  it("finds what trying all contents finds", () => {
    // Every way to fill two layouts of three places with three pieces, every pair of runs.
    const brute = (demands: readonly number[]): number => {
      const fills: number[][] = [];
      for (let a = 0; a <= 3; a++) for (let b = 0; a + b <= 3; b++) fills.push([a, b, 3 - a - b]);
      let best = Number.POSITIVE_INFINITY;
      const most = Math.max(...demands);
      for (const p of fills)
        for (const q of fills)
          for (let x = 0; x <= most && x < best; x++)
            for (let y = 0; y <= most && x + y < best; y++)
              if (demands.every((d, i) => x * (p[i] as number) + y * (q[i] as number) >= d)) best = x + y;
      return best;
    };
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 14 }), { minLength: 3, maxLength: 3 }), (demands) => {
        const request = { slots: 3, demands, layouts: 2, cost: { sheet: 1, layout: 0 } };
        const plan = planRuns(request) as RunsPlan;
        expectValid(request, plan);
        expect(plan.sheets).toBe(brute(demands));
      }),
      { seed: 7, numRuns: 25 },
    );
  });

  it("keeps every rule for any demands", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 9 }),
        fc.array(fc.integer({ min: 0, max: 100_000 }), { maxLength: 14 }),
        fc.integer({ min: 0, max: 50_000 }),
        (slots, demands, layout) => {
          const request = { slots, demands, cost: { sheet: 1, layout }, iterations: 20_000 };
          const plan = planRuns(request);
          expect(plan).toBeDefined();
          expectValid(request, plan as RunsPlan);
        },
      ),
      { seed: 11, numRuns: 12 },
    );
  });

  it.each([3, 4])("%i layouts: stops when it is told to, whatever the exact tables still have to do", (layouts) => {
    // 18 pieces on layouts of seven places, as in a collection of cover printing: these are never proven in time.
    const demands = Array.from({ length: 18 }, (_, i) => 2_000 + ((i * 7919) % 83_777));
    let asked = 0;
    const signal = {
      get aborted() {
        return ++asked > 100;
      },
    };
    const request = { slots: 7, demands, layouts, cost: { sheet: 0.07, layout: 700 }, iterations: 1e12, signal };
    const plan = planRuns(request) as RunsPlan;
    expectValid(request, plan);
    expect(plan.proven).toBe(false);
    expect(asked).toBeLessThan(200);
  });

  it("bounds the exact tables, however many moves are granted, and however many places a sheet has", () => {
    const demands = Array.from({ length: 60 }, (_, i) => 2_000 + ((i * 7919) % 83_777));
    let moves = 0;
    const signal = {
      get aborted() {
        return ++moves > 8;
      },
    };
    const request = { slots: 700, demands, layouts: 3, cost: { sheet: 1, layout: 0 }, iterations: 1e12, signal };
    const plan = planRuns(request) as RunsPlan;
    expectValid(request, plan);
  });

  it("says when so few layouts cannot hold the pieces", () => {
    expect(planRuns({ slots: 2, demands: [1, 1, 1], layouts: 1, cost: { sheet: 1, layout: 1 } })).toBeUndefined();
  });
});
