import { type Cell, gather } from "@kitforme/layout";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

/** Sheets that hold a piece of a group, summed over the groups. */
const pairs = (cells: readonly Cell[], content: readonly number[]): number =>
  new Set(cells.flatMap((c, i) => cells[content[i] as number]?.groups.map((g) => `${c.sheet} ${g}`) ?? [])).size;

const asGiven = (cells: readonly Cell[]): number[] => cells.map((_, i) => i);

describe("gather", () => {
  it("brings every order onto a sheet of its own where that can be, the early ones first, neighbours together", () => {
    // Four sheets of six equal places, four orders of six pieces dealt out as badly as can be.
    const cells = Array.from({ length: 24 }, (_, i): Cell => ({ sheet: Math.floor(i / 6), sort: 0, groups: [i % 4] }));
    expect(pairs(cells, asGiven(cells))).toBe(16);
    const content = gather(cells);
    expect(content.map((k) => cells[k]?.groups[0])).toEqual(cells.map((c) => c.sheet));
  });

  it("keeps an order's other pieces in mind: they stay, the exchangeable ones come to them", () => {
    // Only the places of sort 0 can change; sort 1 fixes order 1 on the first sheet and order 0 on the second.
    const cells: Cell[] = [
      { sheet: 0, sort: 0, groups: [0] },
      { sheet: 0, sort: 1, groups: [1] },
      { sheet: 1, sort: 0, groups: [1] },
      { sheet: 1, sort: 2, groups: [0] },
    ];
    expect(gather(cells)).toEqual([2, 1, 0, 3]);
  });

  it("exchanges equal pieces only, loses none, and is never worse than what it was given", () => {
    const cell = fc.record({
      sheet: fc.nat(3),
      sort: fc.nat(1),
      groups: fc.uniqueArray(fc.nat(5), { maxLength: 2 }).map((g) => g.sort((a, b) => a - b)),
    });
    let better = 0;
    fc.assert(
      fc.property(fc.array(cell, { minLength: 16, maxLength: 40 }), (cells) => {
        const content = gather(cells);
        expect([...content].sort((a, b) => a - b)).toEqual(asGiven(cells));
        content.forEach((k, i) => {
          expect(cells[k]?.sort).toBe(cells[i]?.sort);
        });
        const before = pairs(cells, asGiven(cells));
        const after = pairs(cells, content);
        expect(after).toBeLessThanOrEqual(before);
        if (after < before) better++;
        expect(gather(cells)).toEqual(content);
      }),
      { numRuns: 60, seed: 7 },
    );
    expect(better).toBeGreaterThan(30);
  });
});
