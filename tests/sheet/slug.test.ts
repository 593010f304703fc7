import { bounds, mm } from "@kitforme/geometry";
import { fieldOf, impose } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { formeOf, PRESS, SRA3, stockOf } from "./make.ts";

const slugOf = async (orders: readonly string[], more = {}, stock = stockOf()) =>
  impose(formeOf([], { sheet: 3, of: 12, run: 13, cutAs: 3, ...more }), "7ZK3M0QXW2AB", stock, orders);

describe("the slug", () => {
  it("names job, sheet, run, printing condition, stock and orders", async () => {
    const { slug } = await slugOf(["HL-2041", "HL-2042"]);
    expect(slug).toBe("Job 7ZK3M0QXW2AB · sheet 3 of 12 · run 13 · FOGRA39 · White card 270 g/m2 · HL-2041, HL-2042");
  });

  it("names the shop's own profile by its file, the edge that is fed first, and the day that the first order is due", async () => {
    const press = {
      ...PRESS,
      profile: { file: "profiles/house.icc", bytes: new Uint8Array() },
      feed: "bottom",
    } as const;
    const { slug } = await slugOf(["HL-2041"], { due: "2026-12-04" }, stockOf({ press }));
    expect(slug).toBe(
      "Job 7ZK3M0QXW2AB · sheet 3 of 12 · run 13 · house.icc · feed edge bottom · due 2026-12-04 · White card 270 g/m2 · HL-2041",
    );
  });

  it("says which sheet's cut files serve, when it is another's", async () => {
    expect((await slugOf(["HL-2041"], { cutAs: 1 })).slug).toContain("run 13 · cut as sheet 1 ·");
  });

  it("counts the orders that it has no room for", async () => {
    const orders = Array.from({ length: 60 }, (_, i) => `HL-${2041 + i}`);
    const { slug } = await slugOf(orders);
    const [, named, more] = /· (HL-2041.*) and (\d+) more$/.exec(slug) ?? [];
    expect((named?.split(", ").length ?? 0) + Number(more)).toBe(60);
    expect(named?.split(", ").length).toBeGreaterThan(3);
  });

  it("gives only their number when not even one has room", async () => {
    const orders = ["an order with a name that nobody would want to read on the edge of any sheet of card at all", "b"];
    expect((await slugOf(orders)).slug).toMatch(/· 2 orders$/);
  });

  it("cuts a title that is too long, with an ellipsis", async () => {
    const { slug } = await slugOf(["HL-2041"], {}, stockOf({ title: "Very white card ".repeat(20) }));
    expect(slug).toMatch(/Very white card.*…$/);
  });

  it.each([
    ["SRA3", SRA3],
    ["A5", { width: mm(148), height: mm(210) }],
    ["A6", { width: mm(105), height: mm(148) }],
  ])("stays within its box on %s, whatever it says", async (_, size) => {
    const orders = Array.from({ length: 40 }, (_, i) => `ÅÄÖ-gjpqy-${i}`);
    const sheet = await slugOf(orders, { ...size, cutAs: 1 });
    const box = fieldOf(stockOf(), size)
      .keepOuts.map((ring) => bounds(ring))
      .find(({ width, height }) => height > mm(6) && height < mm(6.8) && width > mm(20));
    const numbers = (sheet.inks[1]?.outlines.match(/-?[\d.]+/g) ?? []).map(Number);
    const [xs, ys] = [0, 1].map((axis) => numbers.filter((_, i) => i % 2 === axis)) as [number[], number[]];
    expect(xs.length).toBeGreaterThan(100);
    expect(Math.min(...xs)).toBeGreaterThanOrEqual(box?.x ?? 0);
    expect(Math.max(...xs)).toBeLessThanOrEqual((box?.x ?? 0) + (box?.width ?? 0));
    // Pieces may print right up to the box from above: letters keep off them. Below it nothing is printed.
    expect(Math.min(...ys)).toBeGreaterThanOrEqual(box?.y ?? 0);
    expect(Math.max(...ys)).toBeLessThanOrEqual((box?.y ?? 0) + (box?.height ?? 0) - mm(0.4));
  });

  it("has words but no ink on stock that is not printed", async () => {
    const sheet = await slugOf(["HL-2041"], {}, stockOf({ press: null, title: "Greyboard" }));
    expect(sheet.slug).toBe("Job 7ZK3M0QXW2AB · sheet 3 of 12 · run 13 · Greyboard · HL-2041");
    expect(sheet.inks).toEqual([]);
    expect(sheet.marks).toEqual([]);
  });
});
