// Whole requests drawn at random from a seed, and the rules every plan has to keep, for tests and benches of the runs.
import { type Demand, type GangRequest, needOf, type Plan } from "@kitforme/layout";
import { breachesOf, type Footprint } from "@kitforme/nest";
import { anyJob, anyShape, draws } from "../../nest/drawn.ts";

/**
 * A small request as a shop might send it: some footprints, one or two sheet sizes, demands from one copy to 100,000. Pieces
 * are a hand's size, so that a sheet holds up to some thirty.
 */
export const anyRequest = (seed: number): GangRequest => {
  const draw = draws(seed * 7919 + 13);
  const { field } = anyJob(seed);
  const footprints = Array.from({ length: 1 + Math.floor(draw() * 4) }, (_, k): Footprint => {
    const shape = anyShape(draw, 55_000 + draw() * 90_000);
    const sort = draw();
    const turns = sort < 0.03 ? ("any" as const) : sort < 0.35 ? [0, 180] : sort < 0.8 ? [0, 90, 180, 270] : [0, 31];
    const axis = draw() < 0.2 ? ({ axis: draw() < 0.5 ? "x" : "y" } as const) : {};
    return { id: `piece ${k}`, shape, core: shape, turns, ...axis };
  });
  const large = draw() < 0.15;
  const wide = draw() < 0.25;
  const most = draw() < 0.5 ? 6 : draw() < 0.7 ? 300 : 100_000;
  const orders = 1 + Math.floor(draw() * 4);
  const demands = Array.from({ length: 1 + Math.floor(draw() * (large ? 14 : 6)) }, (_, d): Demand => {
    const personal = draw() < 0.3;
    const copies = personal ? 1 + Math.floor(draw() * 3) : 1 + Math.floor(draw() * draw() * most);
    const first = Math.ceil(copies / 2);
    const group = (k: number) => `order ${k % orders}`;
    return {
      id: `demand ${d}`,
      footprint: Math.floor(draw() * footprints.length),
      copies,
      personal,
      groups:
        copies - first > 0
          ? [
              { group: group(d), copies: first },
              { group: group(d + 1), copies: copies - first },
            ]
          : [{ group: group(d), copies }],
    };
  });
  const second = {
    ...field,
    id: "larger sheet",
    width: field.width + 60_000,
    height: field.height + 90_000,
    bounds: { ...field.bounds, width: field.bounds.width + 60_000, height: field.bounds.height + 90_000 },
    coreBounds: {
      ...field.coreBounds,
      width: field.coreBounds.width + 60_000,
      height: field.coreBounds.height + 90_000,
    },
    keepOuts: [],
  };
  return {
    footprints,
    fields: wide ? [field, second] : [field],
    demands,
    setup: { sheetChange: 1, newLayout: [0, 1, 20, 200][Math.floor(draw() * 4)] as number },
    overs: draw() < 0.5 ? { sheets: 0, share: 0 } : { sheets: Math.floor(draw() * 4), share: 0.02 },
    effort: "quick",
  };
};

/** Every breach of a plan, as sentences; empty when it keeps every rule. */
export const faultsOf = (request: GangRequest, plan: Plan): string[] => {
  const { demands, fields, footprints, overs, setup } = request;
  const faults: string[] = [];
  const left = new Set(plan.leftovers.map((l) => l.demand));
  demands.forEach((demand, d) => {
    let made = 0;
    for (const f of plan.formes) made += f.run * f.placements.filter((p) => p.demand === d).length;
    if (left.has(d)) {
      if (made > 0) faults.push(`${demand.id} is left over and made ${made} times`);
      return;
    }
    if (made < needOf(demand, overs)) faults.push(`${demand.id}: ${made} of ${needOf(demand, overs)}`);
    if (demand.personal && made !== demand.copies) faults.push(`${demand.id} is personal: ${made} of ${demand.copies}`);
  });
  const shapes = new Map<number, string>();
  plan.formes.forEach((forme, k) => {
    if (!(Number.isInteger(forme.run) && forme.run > 0)) faults.push(`forme ${k} has run ${forme.run}`);
    const shape = JSON.stringify([
      forme.field,
      forme.placements.map((p) => [demands[p.demand]?.footprint, p.turn, p.x, p.y]),
    ]);
    const known = shapes.get(forme.geometry) ?? shape;
    shapes.set(forme.geometry, known);
    if (known !== shape) {
      faults.push(`forme ${k} says it is cut like another with geometry ${forme.geometry}, and is not`);
    }
    const field = fields[forme.field];
    if (!field) throw new Error(`forme ${k} is on field ${forme.field}`);
    const placed = forme.placements.map((p) => ({
      footprint: demands[p.demand]?.footprint ?? -1,
      turn: p.turn,
      x: p.x,
      y: p.y,
    }));
    faults.push(...breachesOf(placed, footprints, field));
  });
  const sheets = plan.formes.reduce((n, f) => n + f.run, 0);
  const cost = setup.sheetChange * sheets + setup.newLayout * shapes.size;
  if (Math.abs(cost - plan.cost) > 1e-6) faults.push(`says it costs ${plan.cost}, costs ${cost}`);
  if (new Set(shapes.values()).size !== shapes.size) faults.push("two geometries are the same");
  if (sheets < plan.bound.sheets) faults.push(`${sheets} sheets, fewer than the bound of ${plan.bound.sheets}`);
  if (cost < plan.bound.cost - 1e-6) faults.push(`costs ${cost}, less than the bound of ${plan.bound.cost}`);
  return faults;
};
