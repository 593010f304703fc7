import { writeCut } from "@kitforme/files";
import type { Prices } from "@kitforme/kit";
import { estimateJson, estimateOf, shareOut } from "@kitforme/papers";
import { impose, type Sheet, workOf } from "@kitforme/sheet";
import fc from "fast-check";
import { beforeAll, describe, expect, it } from "vitest";
import { readSvg } from "../support/read-cut.ts";
import { boardSheet, harbourSheet } from "../support/sheets.ts";
import { circle, CUTTER, cut, formeOf, pieceOf, rectangle, stockOf, stroke } from "../sheet/make.ts";

const SPEED = {
  operations: { creasing: 400, perforating: 200, partialCutting: 250, cutting: 300 },
  travel: 600,
  lift: 0.15,
};
const PRICES: Prices = {
  currency: "EUR",
  sheet: { card: 0.42, greyboard: 0.9 },
  side: 0.18,
  minute: 0.9,
  layout: 6,
  order: 1.5,
};
const ORDERS = ["HL-2041", "HL-2042"];

let sheets: Sheet[];
beforeAll(async () => {
  sheets = [await harbourSheet(), boardSheet()].map((s) => {
    const stock = { ...s.stock, cutter: { ...s.stock.cutter, speed: SPEED } };
    return { ...s, stock, cutAs: s.sheet, work: workOf(s.paths, stock.cutter) };
  });
});

describe("shares in whole cents", () => {
  it("add up exactly, and nobody is off by a cent or more from the exact share", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 10_000_000 }),
        fc.array(fc.double({ min: 0, max: 1e6, noNaN: true }), { minLength: 1, maxLength: 40 }),
        (cents, weights) => {
          const shares = shareOut(cents, weights);
          expect(shares.reduce((a, b) => a + b, 0)).toBe(cents);
          const sum = weights.reduce((a, b) => a + b, 0);
          if (sum > 0)
            shares.forEach((share, i) =>
              expect(Math.abs(share - (cents * (weights[i] as number)) / sum)).toBeLessThan(1),
            );
        },
      ),
      { seed: 5, numRuns: 500 },
    );
  });

  // The textbook example of the method of largest remainders with the Hare quota: 10 seats (from memory, worked by hand).
  it("are dealt by the largest remainders (by hand)", () => {
    expect(shareOut(10, [1, 1, 1])).toEqual([4, 3, 3]);
    expect(shareOut(10, [47_000, 16_000, 15_800, 12_000, 6_100, 3_100])).toEqual([5, 2, 1, 1, 1, 0]);
    expect(shareOut(7, [0, 0])).toEqual([4, 3]);
  });
});

describe("what a job takes", () => {
  it("sums sheets as often as they are cut, and paper by stock", () => {
    const { sheets: count, layouts, paper } = estimateOf(sheets, ORDERS);
    expect([count, layouts]).toEqual([13 + 5, 2]);
    expect(paper.map((p) => [p.stock, p.sheets, p.area])).toEqual([
      ["card", 13, 13 * 320 * 450],
      ["greyboard", 5, 5 * 320 * 450],
    ]);
    for (const p of paper) expect(p.waste).toBeLessThan(p.area);
  });

  it("takes of every ink what lies on its pieces, a spot ink on a plate of its own by its name and in none of the four (by hand)", () => {
    const [printed] = sheets as [Sheet];
    const map = { box: { x: 0, y: 0, width: 1000, height: 1000 }, across: 1, down: 1, cells: new Uint16Array(4) };
    const spots = [{ name: "House Red", area: 1_440, cells: new Uint16Array(1) }];
    const placed = printed.placed.slice(0, 2).map((one, i): Sheet["placed"][number] => {
      const ink = { ...map, plates: [14_400, 0, 0, 7_200], ...(i === 0 ? { spots } : {}) } as const;
      return { ...one, texts: [], prepared: { ...one.prepared, ink } };
    });
    const bare = { ...printed, placed, inks: [], marks: [] };
    const taken = estimateOf([bare], ORDERS);
    expect(taken.ink?.cyan).toBeCloseTo(13 * 28_800, 4);
    expect(taken.ink?.magenta).toBe(0);
    expect(taken.ink?.black).toBeCloseTo(13 * 14_400, 4);
    expect(taken.ink?.spots?.["House Red"]).toBeCloseTo(13 * 1_440, 4);
    expect(estimateJson("job", taken)).toMatchObject({
      ink: { cyan: 374_400, magenta: 0, yellow: 0, black: 187_200, spots: { "House Red": 18_720 } },
    });
    // Without one there is no such field.
    const { ink: four } = estimateOf([{ ...bare, placed: placed.slice(1) }], ORDERS);
    expect(Object.keys(four ?? {})).toEqual(["cyan", "magenta", "yellow", "black"]);
  });

  it("has the lengths of its own cut files within 0.1 %, read back from SVG", async () => {
    const { cutting } = estimateOf(sheets, ORDERS);
    const read: Record<string, number> = {};
    for (const sheet of sheets)
      for (const { layer, closed, points } of readSvg(await writeCut(sheet, "svg")).lines) {
        if (layer === "registration") continue;
        const ring = closed ? [...points, points[0] as [number, number]] : points;
        for (let i = 1; i < ring.length; i++) {
          const [[ax, ay], [bx, by]] = [ring[i - 1] as [number, number], ring[i] as [number, number]];
          read[layer] = (read[layer] ?? 0) + Math.hypot(bx - ax, by - ay) * sheet.run;
        }
      }
    expect(Object.keys(cutting.length).sort()).toEqual(Object.keys(read).sort());
    for (const [operation, way] of Object.entries(cutting.length))
      expect(Math.abs(way / (read[operation] as number) - 1)).toBeLessThan(0.001);
  });

  it("takes the minutes that a machine working through the HP-GL file takes, within 2 %", async () => {
    const prepared = pieceOf([
      cut(rectangle(0, 0, 60, 40)),
      cut(circle(45, 15, 8)),
      stroke("creasing", [20, 0], [20, 40]),
    ]);
    const stock = stockOf({ cutter: { ...CUTTER, speed: SPEED } });
    const places = [0, 1, 2, 3, 4, 5].map((i) => ({
      prepared,
      at: [20 + 90 * (i % 3), 150 + 100 * Math.floor(i / 3)] as const,
    }));
    const sheet = await impose(formeOf(places, { run: 7 }), "7ZK3M0QXW2AB", stock, []);
    // A machine of its own: commands one by one, units of 0.025 mm, a lift whenever the tool comes down.
    const speeds: Record<string, number> = { 1: 300, 2: 400, 3: 200, 4: 250 };
    let [seconds, x, y, pen, down] = [0, 0, 0, "0", false];
    for (const command of new TextDecoder().decode(await writeCut(sheet, "hpgl")).split(";")) {
      const numbers = command.slice(2).split(",").filter(Boolean).map(Number);
      if (command.startsWith("SP")) pen = String(numbers[0]);
      if (command.startsWith("PU")) down = false;
      if (!/^P[UD]/.test(command)) continue;
      if (command.startsWith("PD") && !down) [down, seconds] = [true, seconds + SPEED.lift];
      for (let i = 0; i + 1 < numbers.length; i += 2) {
        const [u, v] = [(numbers[i] as number) / 40, (numbers[i + 1] as number) / 40];
        seconds += Math.hypot(u - x, v - y) / (down ? (speeds[pen] as number) : SPEED.travel);
        [x, y] = [u, v];
      }
    }
    const { cutting } = estimateOf([sheet], []);
    expect(Math.abs((cutting.seconds as number) / (seconds * 7) - 1)).toBeLessThan(0.02);
  });

  it("gives no minutes where a cutter has no speeds, and no price without prices", async () => {
    const { cutting, price, orders } = estimateOf([await harbourSheet()], ORDERS);
    expect(cutting.seconds).toBeUndefined();
    expect(price).toBeUndefined();
    expect(orders.every((o) => o.price === undefined)).toBe(true);
  });
});

describe("the price", () => {
  it("is the shop's prices times what was counted, row by row (by hand)", () => {
    const { price, cutting } = estimateOf(sheets, ORDERS, PRICES);
    const minutes = (cutting.seconds as number) / 60;
    expect(price?.rows.map((r) => [r.what, r.stock, r.amount])).toEqual([
      ["sheets", "card", 5.46],
      ["sheets", "greyboard", 4.5],
      ["sides", undefined, 2.34],
      ["minutes", undefined, Math.round(minutes * 90) / 100],
      ["layouts", undefined, 12],
      ["orders", undefined, 3],
    ]);
  });

  it("of the orders adds up to the job to a cent, whatever the prices", () => {
    const amount = fc.double({ min: 0, max: 1000, noNaN: true });
    fc.assert(
      fc.property(amount, amount, amount, amount, amount, (card, side, minute, layout, order) => {
        const prices = { currency: "EUR", sheet: { card, greyboard: card }, side, minute, layout, order };
        const { price, orders } = estimateOf(sheets, ORDERS, prices);
        const sum = orders.reduce((cents, o) => cents + Math.round((o.price as number) * 100), 0);
        expect(sum).toBe(Math.round((price?.total as number) * 100));
        expect(price?.rows.reduce((cents, r) => cents + Math.round(r.amount * 100), 0)).toBe(sum);
      }),
      { seed: 8, numRuns: 100 },
    );
  });

  it("leaves out what the shop left out", () => {
    const { price } = estimateOf(sheets, ORDERS, { currency: "EUR", sheet: {} });
    expect(price).toEqual({ currency: "EUR", rows: [], total: 0 });
  });

  // ISO 4217, table A.1: the Japanese yen has no minor unit, the Kuwaiti dinar a thousand fils.
  it.each([
    ["JPY", 0],
    ["EUR", 2],
    ["KWD", 3],
  ])("come in the smallest unit of %s, and the orders still add up", (currency, digits) => {
    const { price, orders } = estimateOf(sheets, ORDERS, { currency, sheet: { card: 0.3333 }, order: 1.2345 });
    const units = 10 ** digits;
    const whole = (amount: number): number => Math.round(amount * units);
    const amounts = [...(price?.rows.map((r) => r.amount) ?? []), ...orders.map((o) => o.price ?? Number.NaN)];
    expect(amounts.length).toBeGreaterThan(3);
    for (const one of amounts) expect(one).toBe(whole(one) / units);
    expect(orders.reduce((sum, o) => sum + whole(o.price ?? 0), 0)).toBe(whole(price?.total ?? 0));
    if (digits === 3) expect(amounts.some((one) => whole(one) % 10 !== 0)).toBe(true);
  });
});
