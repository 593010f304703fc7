import { needOf } from "@kitforme/layout";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

describe("needOf", () => {
  // Common practice of the trade, computed backwards from the good count: ceil((good + setup) / (1 - running share)).
  it.each([
    [90, 2, 0.08, 100],
    [100, 0, 0, 100],
    [99, 0, 0.01, 100],
    [1, 3, 0.02, 5],
    [0, 3, 0.02, 0],
  ])("prints for %i good copies with %i for setup and a share of %d: %i", (copies, sheets, share, need) => {
    expect(needOf({ copies, personal: false }, { sheets, share })).toBe(need);
  });

  it("prints personal pieces once each", () => {
    expect(needOf({ copies: 3, personal: true }, { sheets: 5, share: 0.1 })).toBe(3);
  });

  it("never falls below the good count nor falls while that rises", () => {
    fc.assert(
      fc.property(
        fc.nat(100_000),
        fc.nat(50),
        fc.double({ min: 0, max: 0.5, noNaN: true }),
        (copies, sheets, share) => {
          const need = needOf({ copies, personal: false }, { sheets, share });
          expect(need).toBeGreaterThanOrEqual(copies);
          expect(needOf({ copies: copies + 1, personal: false }, { sheets, share })).toBeGreaterThanOrEqual(need);
        },
      ),
      { seed: 3, numRuns: 200 },
    );
  });
});
