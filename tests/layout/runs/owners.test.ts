import { type Demand, type Footprint, gang } from "@kitforme/layout";
import { describe, expect, it } from "vitest";
import { rectangle } from "../../nest/drawn.ts";

const outline = [{ outer: rectangle(90_000, 40_000), openings: [] }];
const card: Footprint = { id: "card", shape: outline, core: outline, turns: [0] };
const whole = { x: 0, y: 0, width: 200_000, height: 100_000 };
const sheet = {
  id: "sheet",
  width: 200_000,
  height: 100_000,
  bounds: whole,
  coreBounds: whole,
  keepOuts: [],
  clearance: 2000,
};
const plan = (demands: readonly Demand[]) =>
  gang({
    footprints: [card],
    fields: [sheet],
    demands,
    setup: { sheetChange: 1, newLayout: 0 },
    overs: { sheets: 1, share: 0 },
    effort: "quick",
  });
const named = (id: string, groups: Demand["groups"], personal = true): Demand => ({
  id,
  footprint: 0,
  copies: groups.reduce((n, g) => n + g.copies, 0),
  personal,
  groups,
});

describe("owners of places", () => {
  it("gives every group its copies, and overs to nobody", async () => {
    const { formes } = await plan([
      named(
        "blank",
        [
          { group: "A", copies: 5 },
          { group: "B", copies: 6 },
        ],
        false,
      ),
    ]);
    const owned = new Map<string, number>();
    let made = 0;
    for (const { run, placements } of formes)
      for (const { owners = [] } of placements) {
        made += run;
        expect(owners.reduce((n, o) => n + o.copies, 0)).toBeLessThanOrEqual(run);
        for (const { group, copies } of owners) owned.set(group, (owned.get(group) ?? 0) + copies);
      }
    expect(Object.fromEntries(owned)).toEqual({ A: 5, B: 6 });
    expect(made).toBeGreaterThanOrEqual(12);
  });

  it("keeps the pieces of a group on few sheets", async () => {
    // Eight names of two orders by turns, four to a sheet: each order fits on a sheet of its own.
    const { formes } = await plan(
      Array.from({ length: 8 }, (_, k) => named(`name ${k}`, [{ group: k % 2 === 0 ? "A" : "B", copies: 1 }])),
    );
    expect(formes).toHaveLength(2);
    for (const { placements } of formes)
      expect(new Set(placements.flatMap((p) => p.owners?.map((o) => o.group) ?? [])).size).toBe(1);
  });

  it("says nothing of owners where nobody asks", async () => {
    const { formes } = await plan([{ ...named("blank", [], false), copies: 4 }]);
    expect(formes.flatMap((f) => f.placements).every((p) => p.owners === undefined)).toBe(true);
  });
});
