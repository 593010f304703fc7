// What the bleed is for, on the press: no seam in three renderers, no paper inside the cut while the cut is off by no more
// than the bleed.
import { describe, expect, it } from "vitest";
import { difference, labOf } from "../bench/bleed/ciede2000.ts";
import { paperInside } from "../bench/bleed/poses.ts";
import { seamsOf } from "../bench/bleed/seam.ts";

describe("seam between ring and artwork", () => {
  it("shows in no renderer, and shows where the ring only meets the artwork", { timeout: 120_000 }, async () => {
    const seams = await seamsOf("net", 217);
    for (const renderer of ["poppler", "Ghostscript", "PDFium"])
      if (!(renderer in seams)) console.warn(`SKIPPED: no ${renderer} on this machine, its seams are not looked at`);
    expect(Object.keys(seams)).toContain("PDFium");
    expect(
      Object.values(seams).every((n) => n === 0),
      JSON.stringify(seams),
    ).toBe(true);
    const control = await seamsOf("net", 217, false);
    expect(control["PDFium"]).toBeGreaterThan(100);
  });
});

describe("misregistration", () => {
  it("shows no paper when the cut is off by less than the bleed, whichever way, and does when it is off by more", () => {
    expect(paperInside(60, 2990, "blob")).toBe(0);
    expect(paperInside(20, 990, "net", 1000)).toBe(0);
    expect(paperInside(20, 2000, "net", 1000)).toBeGreaterThan(0.1);
  });
});

describe("the measure of colour differences", () => {
  // Sharma, Wu, Dalal 2005, table 1: pairs 1, 4, 7, 13, 17, 24, 25.
  it.each([
    [[50, 2.6772, -79.7751], [50, 0, -82.7485], 2.0425],
    [[50, -1.3802, -84.2814], [50, 0, -82.7485], 1],
    [[50, 0, 0], [50, -1, 2], 2.3669],
    [[50, 2.5, 0], [50, 0, -2.5], 4.3065],
    [[50, 2.5, 0], [73, 25, -18], 27.1492],
    [[50, 2.5, 0], [50, 3.2592, 0.335], 1],
    [[60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644],
  ] as const)("%j and %j are %f apart", (a, b, apart) => {
    expect(difference(a, b)).toBeCloseTo(apart, 4);
    expect(difference(b, a)).toBeCloseTo(apart, 4);
  });

  it("takes sRGB white for white", () => {
    const [l, a, b] = labOf(255, 255, 255);
    expect(l).toBeCloseTo(100, 3);
    expect(Math.hypot(a, b)).toBeLessThan(0.03);
  });
});
