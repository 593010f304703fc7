import { readFileSync } from "node:fs";
import { type Demand, gang, type GangRequest, type Plan } from "@kitforme/layout";
import type { Footprint } from "@kitforme/nest";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { turnedPolygon, worst } from "../../bench/layout/check.ts";
import { rectangle } from "../../nest/drawn.ts";
import { kitCopies, kitPieces, kitSheet } from "./drawn-kits.ts";
import { anyRequest, faultsOf } from "./drawn-orders.ts";

const card = (id: string, width: number, height: number, turns: Footprint["turns"] = [0, 90, 180, 270]): Footprint => {
  const outline = [{ outer: rectangle(width * 1000, height * 1000), openings: [] }];
  return { id, shape: outline, core: outline, turns };
};
const demand = (footprint: number, copies: number, more: Partial<Demand> = {}): Demand => ({
  id: `${footprint} x ${copies}`,
  footprint,
  copies,
  personal: false,
  groups: [],
  ...more,
});
const request = (
  footprints: readonly Footprint[],
  demands: readonly Demand[],
  more: Partial<GangRequest> = {},
): GangRequest => ({
  footprints,
  demands,
  fields: [
    {
      id: "sheet",
      width: 200_000,
      height: 100_000,
      bounds: { x: 0, y: 0, width: 200_000, height: 100_000 },
      coreBounds: { x: 0, y: 0, width: 200_000, height: 100_000 },
      keepOuts: [],
      clearance: 0,
    },
  ],
  setup: { sheetChange: 1, newLayout: 20 },
  overs: { sheets: 0, share: 0 },
  effort: "quick",
  ...more,
});
const sheets = (plan: Plan): number => plan.formes.reduce((n, f) => n + f.run, 0);
const geometries = (plan: Plan): number => new Set(plan.formes.map((f) => f.geometry)).size;

describe("gang", () => {
  it("prints equal sheets as one layout with a run", async () => {
    // Eight cards of 50 x 50 fill a sheet of 200 x 100: 100,000 copies are 12,500 sheets, and no fewer.
    const asked = request([card("card", 50, 50)], [demand(0, 100_000)]);
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(plan.formes.map((f) => f.run)).toEqual([12_500]);
    expect(plan.cost).toBe(12_520);
    expect(plan.bound).toEqual({ sheets: 12_500, cost: 12_520 });
  });

  it("prints one name a place on one cut geometry", async () => {
    // 24 names, eight a sheet: three sheets with other words, one layout for the cutter.
    const names = Array.from({ length: 24 }, (_, k) => demand(0, 1, { id: `name ${k}`, personal: true }));
    const asked = request([card("card", 50, 50)], names);
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(plan.formes.map((f) => [f.run, f.geometry])).toEqual([
      [1, 0],
      [1, 0],
      [1, 0],
    ]);
    expect(plan.cost).toBe(23);
  });

  it("never prints a name twice to fill a sheet", async () => {
    const names = Array.from({ length: 25 }, (_, k) => demand(0, 1, { id: `name ${k}`, personal: true }));
    const asked = request([card("card", 50, 50)], names);
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    // Five a sheet on five sheets costs 25; eight a sheet would need a second layout for the last one.
    expect(plan.cost).toBe(25);
  });

  it("fills up the sheets of names with plain copies", async () => {
    const names = Array.from({ length: 3 }, (_, k) => demand(0, 1, { id: `name ${k}`, personal: true }));
    const asked = request([card("card", 50, 50)], [...names, demand(0, 77)]);
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(sheets(plan)).toBe(10);
    expect(plan.formes.map((f) => f.run).sort((a, b) => b - a)).toEqual([9, 1]);
    expect(geometries(plan)).toBe(1);
  });

  it("weighs a second layout against the sheets it saves", async () => {
    const footprints = [card("large", 100, 100), card("small", 50, 50)];
    const demands = [demand(0, 10), demand(1, 1000)];
    // One layout: one large and four small a sheet, 250 sheets. Two: 5 sheets of the large, 125 of the small ones.
    const costly = request(footprints, demands, { setup: { sheetChange: 1, newLayout: 1000 } });
    const cheap = request(footprints, demands, { setup: { sheetChange: 1, newLayout: 20 } });
    const one = await gang(costly);
    const two = await gang(cheap);
    expect([geometries(one), sheets(one)]).toEqual([1, 250]);
    expect([geometries(two), sheets(two)]).toEqual([2, 130]);
    expect(faultsOf(costly, one)).toEqual([]);
    expect(faultsOf(cheap, two)).toEqual([]);
  });

  it("finds the published optimum of a template design", async () => {
    // CSPLib problem 002 (Proll, Smith 1998), the cat food labels: one template takes 550 sheets, two 418, three 408, all optimal.
    const { demands } = JSON.parse(
      readFileSync(new URL("../../../fixtures/coverprinting/csplib002-catfood.json", import.meta.url), "utf8"),
    ) as { demands: number[] };
    const labels = demands.map((_, k) => card(`label ${k}`, 50, 50, [0]));
    const side = { x: 0, y: 0, width: 150_000, height: 150_000 };
    const asked = request(
      labels,
      demands.map((n, k) => demand(k, n)),
      {
        fields: [
          {
            id: "nine",
            width: side.width,
            height: side.height,
            bounds: side,
            coreBounds: side,
            keepOuts: [],
            clearance: 0,
          },
        ],
        effort: "normal",
      },
    );
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect([sheets(plan), geometries(plan)]).toEqual([418, 2]);
  });

  it("plans layouts of unlike pieces by what they leave short", { timeout: 120_000 }, async () => {
    // Drawn kit pieces: 45 sheets on two layouts before layouts were mended by exchanges; 21 by area, with nothing left over.
    const asked: GangRequest = {
      ...request(
        kitPieces(10, 1),
        kitCopies(10, 300, 1).map((n, k) => demand(k, n)),
        { setup: { sheetChange: 1, newLayout: 5 } },
      ),
      fields: [kitSheet()],
    };
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(plan.cost).toBeLessThanOrEqual(46);
    expect(plan.cost).toBeGreaterThanOrEqual(plan.bound.cost);
  });

  it("adds overs, but not to names", async () => {
    // ceil((90 + 2) / (1 - 0.08)) = 100
    const asked = request(
      [card("card", 50, 50), card("ticket", 50, 50)],
      [demand(0, 90), demand(1, 4, { personal: true })],
      {
        overs: { sheets: 2, share: 0.08 },
      },
    );
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    const made = (d: number): number =>
      plan.formes.reduce((n, f) => n + f.run * f.placements.filter((p) => p.demand === d).length, 0);
    expect(made(0)).toBeGreaterThanOrEqual(100);
    expect(made(1)).toBe(4);
  });

  it("leaves out what no sheet holds and says by how much", async () => {
    const asked = request([card("card", 50, 50), card("poster", 230, 90, [0])], [demand(0, 8), demand(1, 1)]);
    const plan = await gang(asked);
    expect(plan.leftovers).toEqual([{ demand: 1, overWidth: 30_000, overHeight: 0 }]);
    expect(sheets(plan)).toBe(1);
    expect(faultsOf(asked, plan)).toEqual([]);
  });

  it("takes the smaller sheet where both cost the same", async () => {
    const [large] = request([], []).fields;
    if (!large) throw new Error("no field");
    const half = { x: 0, y: 0, width: 100_000, height: 100_000 };
    const small = { ...large, id: "half", width: 100_000, bounds: half, coreBounds: half };
    const asked = request([card("card", 50, 50)], [demand(0, 4)], { fields: [large, small] });
    const plan = await gang(asked);
    expect(plan.formes.map((f) => [f.field, f.run])).toEqual([[1, 1]]);
  });

  it("keeps the names of an order on one sheet", async () => {
    const orders = ["A", "B", "C"].flatMap((order) =>
      Array.from({ length: 8 }, (_, k) =>
        demand(0, 1, { id: `${order}${k}`, personal: true, groups: [{ group: order, copies: 1 }] }),
      ),
    );
    // Shuffled as they may come in: the order of the demands is not that of the orders.
    const mixed = orders.map((_, k) => orders[(k * 7) % orders.length] as Demand);
    const plan = await gang(request([card("card", 50, 50)], mixed));
    for (const forme of plan.formes)
      expect(new Set(forme.placements.map((p) => mixed[p.demand]?.groups[0]?.group)).size).toBe(1);
  });

  it("stops when asked, with a plan that keeps every rule", async () => {
    const stop = new AbortController();
    stop.abort();
    const asked = { ...anyRequest(5), effort: "best" as const, signal: stop.signal };
    const plan = await gang(asked);
    expect(plan.formes.length).toBeGreaterThan(0);
    expect(faultsOf(asked, plan)).toEqual([]);
  });

  it("says on the way how far it is and what the best plan takes", async () => {
    const reports: { done: number; sheets: number }[] = [];
    const asked: GangRequest = {
      ...request(
        kitPieces(4, 1),
        [9, 9, 9, 9].map((n, k) => demand(k, n)),
        { setup: { sheetChange: 1, newLayout: 0 } },
      ),
      fields: [kitSheet()],
      onProgress: ({ done, sheets: n }) => void reports.push({ done, sheets: n }),
    };
    const plan = await gang(asked);
    expect(reports.at(-1)).toEqual({ done: 100, sheets: sheets(plan) });
    const known = reports.filter((t) => t.sheets > 0);
    // Not a word for half of the job would look as if it hung; the best plan so far never gets worse.
    expect(known.length).toBeGreaterThan(5);
    for (const [k, t] of reports.entries()) expect(t.done).toBeGreaterThanOrEqual(reports[k - 1]?.done ?? 0);
    for (const [k, t] of known.entries()) expect(t.sheets).toBeLessThanOrEqual(known[k - 1]?.sheets ?? Infinity);
  });

  it("gives the same plan for the same request", async () => {
    const asked = anyRequest(12);
    expect(await gang(asked)).toEqual(await gang(structuredClone(asked)));
  });

  it("has nothing to do for no demands", async () => {
    const plan = await gang(request([card("card", 50, 50)], []));
    expect(plan).toEqual({ formes: [], leftovers: [], bound: { sheets: 0, cost: 0 }, cost: 0 });
  });

  it("keeps every rule for requests drawn at random", { timeout: 60_000 }, async () => {
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1000, max: 1_000_000 }), async (seed) => {
        const asked = anyRequest(seed);
        const plan = await gang(asked);
        expect(faultsOf(asked, plan)).toEqual([]);
        // The second opinion: no two pieces share area by another library's intersection (openings left out: outer contours of
        // pieces that lie in an opening do overlap by design).
        for (const forme of plan.formes) {
          const field = asked.fields[forme.field];
          const plain = forme.placements.filter((p) =>
            asked.footprints[asked.demands[p.demand]?.footprint ?? -1]?.shape.every((o) => o.openings.length === 0),
          );
          const polygons = plain.flatMap((p) =>
            (asked.footprints[asked.demands[p.demand]?.footprint ?? -1]?.shape ?? []).map((o) =>
              turnedPolygon(
                o.outer.map(({ x, y }) => [x, y] as const),
                p.turn,
                p.x,
                p.y,
              ),
            ),
          );
          const { overlap, outside } = worst(polygons, field?.width ?? 0, field?.height ?? 0);
          // Two micrometres along half a metre.
          expect(overlap).toBeLessThan(2 * 500_000);
          expect(outside).toBeLessThanOrEqual(2);
        }
      }),
      { seed: 20_261, numRuns: 15, endOnFailure: true },
    );
  });

  // Round stickers of 15 mm, a millimetre apart: 513 lie on a sheet square by square, 200 was once the most.
  const round = (id: string, diameter: number): Footprint => {
    const outer = Array.from({ length: 64 }, (_, k) => ({
      x: Math.round((diameter / 2) * Math.cos((2 * Math.PI * k) / 64)),
      y: Math.round((diameter / 2) * Math.sin((2 * Math.PI * k) / 64)),
    }));
    return { id, shape: [{ outer, openings: [] }], core: [{ outer, openings: [] }], turns: [0] };
  };
  it.each(["quick", "normal", "best"] as const)("fills sheets of 5,000 equal pieces, at %s", async (effort) => {
    for (const newLayout of [0, 20]) {
      const asked = request([round("sticker", 15_000)], [demand(0, 5000)], {
        fields: [kitSheet()],
        setup: { sheetChange: 1, newLayout },
        effort,
      });
      const plan = await gang(asked);
      expect(faultsOf(asked, plan)).toEqual([]);
      expect(sheets(plan)).toBeLessThanOrEqual(9);
      expect(geometries(plan)).toBe(1);
    }
  });

  it("gives equal pieces of different prints each other's places", async () => {
    const asked = request(
      [round("red", 15_000), round("green", 15_000), round("blue", 15_000)],
      [demand(0, 5000), demand(1, 300), demand(2, 7000), demand(2, 1, { personal: true })],
      { fields: [kitSheet()] },
    );
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    // 12,301 pieces, 572 to a sheet.
    expect(sheets(plan)).toBeLessThanOrEqual(23);
  });

  it("lays long runs of unlike pieces on full sheets", { timeout: 120_000 }, async () => {
    const asked = request(
      [round("sticker", 15_000), card("label", 20, 9, [0, 90])],
      [demand(0, 5000), demand(1, 5000)],
      {
        fields: [kitSheet()],
        setup: { sheetChange: 1, newLayout: 1 },
      },
    );
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(sheets(plan)).toBeLessThanOrEqual(19);
  });

  // Of the published ganging set; the general way needs 1334 and 2400 sheets, cuts from edge to edge the listed ones.
  it.each([
    ["HGJ2", 1200],
    ["HGJ6", 2000],
  ])("lays the rectangles of %s by cuts from edge to edge: %i sheets", async (name, least) => {
    const { instances } = JSON.parse(
      readFileSync(new URL("../../../fixtures/ganging/ganging.json", import.meta.url), "utf8"),
    ) as {
      instances: readonly { name: string; sheet: [number, number]; jobs: readonly [number, number, number][] }[];
    };
    const { sheet: size, jobs } = instances.find((i) => i.name === name) as (typeof instances)[number];
    const [width, height] = size.map((n) => 100 * n) as [number, number];
    const whole = { x: 0, y: 0, width, height };
    const asked = request(
      jobs.map(([w, h], k) => card(`${name} ${k}`, w / 10, h / 10, [0, 90])),
      jobs.map(([, , copies], k) => demand(k, copies)),
      {
        fields: [{ id: name, width, height, bounds: whole, coreBounds: whole, keepOuts: [], clearance: 0 }],
        setup: { sheetChange: 1, newLayout: 1e6 },
        effort: "normal",
      },
    );
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
    expect(sheets(plan)).toBe(least);
  });

  it("keeps rectangles clear of marks, with bleed and a clearance", { timeout: 120_000 }, async () => {
    const cards = [
      [60, 90],
      [45, 45],
      [80, 30],
    ].map(([w, h], k): Footprint => {
      const trim = [{ outer: rectangle((w as number) * 1000, (h as number) * 1000), openings: [] }];
      const shape = [
        {
          outer: rectangle((w as number) * 1000 + 6000, (h as number) * 1000 + 6000).map(({ x, y }) => ({
            x: x - 3000,
            y: y - 3000,
          })),
          openings: [],
        },
      ];
      return { id: `card ${k}`, shape, core: trim, turns: [0, 90] };
    });
    const asked = request(cards, [demand(0, 500), demand(1, 800), demand(2, 300)], { fields: [kitSheet()] });
    const plan = await gang(asked);
    expect(faultsOf(asked, plan)).toEqual([]);
  });
});
