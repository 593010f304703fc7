import { breachesOf, pack } from "@kitforme/nest";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { anyJob } from "./drawn.ts";
import { objections } from "./second-opinion.ts";

describe("every sheet of every job", () => {
  it("is valid by our own proof and by another library, and holds every piece once", async () => {
    let pieces = 0;
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1000, max: 1_000_000 }), fc.boolean(), async (seed, long) => {
        const { footprints, field, items } = anyJob(seed);
        const { sheets, leftovers, mended } = await pack({
          footprints,
          fields: [field],
          items,
          effort: long ? "normal" : "quick",
          seed,
        });
        const keys = [...leftovers.map((l) => l.key), ...sheets.flatMap((s) => s.placements.map((p) => p.key))];
        expect(keys.sort((a, b) => a - b)).toEqual(items.map((i) => i.key));
        expect(mended).toBe(0);
        for (const sheet of sheets) {
          const placed = sheet.placements.map((p) => ({ ...p, footprint: items[p.key]?.footprint ?? -1 }));
          pieces += placed.length;
          expect(breachesOf(placed, footprints, field)).toEqual([]);
          expect(objections(placed, footprints, field)).toEqual([]);
        }
      }),
      { numRuns: 25, seed: 20 },
    );
    expect(pieces).toBeGreaterThan(150);
  }, 60_000);

  it("the second opinion does object to overlaps, nearness and the edge", () => {
    const { footprints, field } = anyJob(4);
    const one = { footprint: 0, turn: 0, x: Math.round(field.width / 2), y: Math.round(field.height / 2) };
    expect(objections([one, one], footprints, field).length).toBeGreaterThan(0);
    expect(objections([{ ...one, x: 0 }], footprints, field).length).toBeGreaterThan(0);
  });
});
