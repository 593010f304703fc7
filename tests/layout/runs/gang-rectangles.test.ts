import { readFileSync } from "node:fs";
import { gangRectangles, type RectanglesPlan, type RectanglesRequest } from "@kitforme/layout";
import { describe, expect, it } from "vitest";

interface Instance {
  readonly name: string;
  readonly sheet: readonly [number, number];
  readonly jobs: readonly (readonly [number, number, number])[];
}
const set = JSON.parse(readFileSync(new URL("../../../fixtures/ganging/ganging.json", import.meta.url), "utf8")) as {
  instances: readonly Instance[];
};
const requestOf = ({ sheet, jobs }: Instance, iterations: number): RectanglesRequest => ({
  sheet: { width: sheet[0], height: sheet[1] },
  jobs: jobs.map(([width, height, copies]) => ({ width, height, copies })),
  turns: true,
  iterations,
});
const isLawful = ({ sheet, jobs }: RectanglesRequest, { laid, run }: RectanglesPlan): void => {
  laid.forEach((a, i) => {
    expect(a.x >= 0 && a.y >= 0 && a.x + a.width <= sheet.width && a.y + a.height <= sheet.height).toBe(true);
    for (const b of laid.slice(0, i))
      expect(a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y).toBe(true);
  });
  jobs.forEach((j, k) => {
    expect(run * laid.filter((l) => l.job === k).length).toBeGreaterThanOrEqual(j.copies);
  });
};

describe("gangRectangles", () => {
  it.each(["HGJ2", "HGJ8", "GJ1"])("reaches the bound of %s", (name) => {
    const request = requestOf(set.instances.find((i) => i.name === name) as Instance, 60_000);
    const plan = gangRectangles(request) as RectanglesPlan;
    isLawful(request, plan);
    expect(plan.run).toBe(plan.bound);
  });

  it("knows the bounds of the set", () => {
    // Computed from the data by hand of another program when the set was taken in.
    const given = set.instances as readonly (Instance & { readonly lowerBoundSingleLayout: number })[];
    for (const instance of given.slice(2, 6))
      expect(gangRectangles(requestOf(instance, 2000))?.bound).toBe(instance.lowerBoundSingleLayout);
  });

  it("says when not even one of each fits", () => {
    expect(
      gangRectangles({ sheet: { width: 10, height: 10 }, jobs: [{ width: 11, height: 2, copies: 1 }], turns: true }),
    ).toBeUndefined();
  });
});
