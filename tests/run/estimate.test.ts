import { estimateJob, estimateJson, inMemory, run } from "@kitforme/run";
import sharp from "sharp";
import { beforeAll, describe, expect, it } from "vitest";
import { readSvg } from "../support/read-cut.ts";
import { svgMm } from "../support/kits.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const SPEED = { cutting: 300, partialCutting: 250, creasing: 400, perforating: 200, travel: 600, lift: 0.15 };
const TOOLS = { cutting: { pen: 1 }, creasing: { pen: 2 }, partialCutting: { pen: 4 } };
const flatbed = {
  ...SHOP.cutters.flatbed,
  formats: ["svg", "hpgl"],
  tools: TOOLS,
  speed: SPEED,
  // All that makes the machine's way longer or shorter than the drawing's.
  path: { overcut: 0.5, tabs: { count: 2, length: 0.6 }, dash: { perforating: [3, 1.5] } },
};
const shop = {
  ...SHOP,
  cutters: { flatbed },
  prices: { currency: "EUR", sheet: { card: 0.37, board: 0.91 }, side: 0.19, minute: 0.83, layout: 7, order: 1.1 },
};
const house = svgMm(
  70,
  60,
  '<rect id="art" width="70" height="60" fill="#a33"/><path id="cut" d="M0 0H70V60H0Z M35 20A8 8 0 1 0 35.01 20Z"/>' +
    '<path id="crease" d="M0 40H70M20 40V60"/><path id="tear" d="M50 40V60"/><path id="kiss" d="M5 5H15V15H5Z"/>',
);
const lines = { cutting: "#cut", creasing: "#crease", perforating: "#tear", partialCutting: "#kiss" };
const slot = { slot: "boat", box: [8, 8, 44, 14], size: 12, leastSize: 6 };
const kits = () =>
  shelf({
    box: {
      "kit.json": {
        kit: "box",
        pieces: [
          pieceForm("house", { perKit: 2, lines, bleed: 2 }),
          pieceForm("tag", { slots: [slot] }),
          pieceForm("liner", { stock: "board", artwork: null }),
        ],
      },
      "house.svg": house,
      "tag.svg": card(60, 30),
      "liner.svg": card(80, 50),
    },
  });
const input = {
  shop: named("shop.json", shop),
  orders: [
    named("a.json", {
      order: "HL-1",
      lines: [{ kit: "box", quantity: 2, texts: [{ boat: "Aino" }, { boat: "Elsa" }] }],
    }),
    named("b.json", { order: "HL-2", lines: [{ kit: "box", quantity: 3 }] }),
    named("c.json", { order: "HL-3", lines: [{ kit: "box", quantity: 1 }] }),
  ],
};

interface EstimateJson {
  readonly job: string;
  readonly ink?: Readonly<Record<string, number>>;
  readonly cutting: { readonly length: Readonly<Record<string, number>>; readonly seconds: number };
  readonly orders: readonly { readonly area: number; readonly way: number; readonly price: number }[];
  readonly price: { readonly rows: readonly { readonly amount: number }[]; readonly total: number };
}
interface JobJson {
  readonly sheets: readonly {
    readonly run: number;
    readonly size: readonly [number, number];
    readonly ink?: { readonly mean: Readonly<Record<string, number>> };
    readonly files: { readonly cut: { readonly svg: string; readonly hpgl: string } };
  }[];
}

const out = inMemory();
const jsonOf = <T>(name: string): T => JSON.parse(new TextDecoder().decode(out.files.get(name))) as T;
let made: EstimateJson;
let job: JobJson;
beforeAll(async () => {
  const { findings } = await run(input, { kits: kits(), out: () => out }, { effort: "quick" });
  expect(findings.filter((f) => f.level === "error")).toEqual([]);
  made = jsonOf("job.estimate.json");
  job = jsonOf("job.json");
}, 120_000);

describe("an estimate without a sheet", () => {
  it("is that of the job itself, at the same effort", async () => {
    const store = kits();
    const { estimate, findings } = await estimateJob(input, store, { effort: "quick" });
    expect(findings.filter((f) => f.level === "error")).toEqual([]);
    if (!estimate) throw new Error("no estimate");
    // It opens no picture: only the ink is not known.
    const { ink: _, ...rest } = made;
    expect(JSON.parse(JSON.stringify(estimateJson(made.job, estimate)))).toEqual(rest);
  });

  it("weighs the ink where it is asked to: of every plate within 2 % of the job's own, all else the same", async () => {
    const { estimate } = await estimateJob(input, kits(), { effort: "quick", ink: true });
    if (!estimate) throw new Error("no estimate");
    const { ink, ...rest } = JSON.parse(JSON.stringify(estimateJson(made.job, estimate))) as EstimateJson;
    const { ink: own = {}, ...others } = made;
    expect(rest).toEqual(others);
    expect(Object.keys(own)).toEqual(["cyan", "magenta", "yellow", "black"]);
    for (const [plate, area] of Object.entries(own)) {
      expect(area, plate).toBeGreaterThan(500);
      expect(Math.abs((ink?.[plate] ?? 0) / area - 1), plate).toBeLessThan(0.02);
    }
  });

  it("that weighs ink refuses artwork that a job would refuse, with its reason", async () => {
    const broken = shelf({
      box: {
        "kit.json": {
          kit: "box",
          pieces: [pieceForm("house", { artwork: { file: "house.png", box: [0, 0, 70, 60] } })],
        },
        "house.svg": card(70, 60),
        "house.png": await sharp({ create: { width: 70, height: 60, channels: 3, background: "#a33" } })
          .png()
          .toBuffer(),
      },
    });
    const plain = { ...input, orders: input.orders.slice(1) };
    const { estimate, findings } = await estimateJob(plain, broken, { ink: true });
    expect(estimate).toBeUndefined();
    expect(findings.filter(({ level }) => level === "error").map(({ rule, where }) => [rule, where.file])).toEqual([
      ["resolution-low", "house.png"],
    ]);
  });
});

describe("the sums of a job", () => {
  it("of its orders add up: prices to the cent, shares to the whole", () => {
    const cents = (amounts: readonly number[]): number => amounts.reduce((sum, a) => sum + Math.round(a * 100), 0);
    expect(made.price.rows).toHaveLength(6);
    expect(cents(made.orders.map((o) => o.price))).toBe(cents([made.price.total]));
    expect(cents(made.price.rows.map((r) => r.amount))).toBe(cents([made.price.total]));
    expect(made.orders.reduce((sum, o) => sum + o.area, 0)).toBeCloseTo(1, 5);
    expect(made.orders.reduce((sum, o) => sum + o.way, 0)).toBeCloseTo(1, 5);
  });

  it("of ink are the means of the sheets times their area and run", () => {
    for (const [plate, area] of Object.entries(made.ink ?? {})) {
      const sum = job.sheets.reduce(
        (t, { run: times, size: [w, h], ink }) => t + ((ink?.mean[plate] ?? 0) / 100) * w * h * times,
        0,
      );
      expect(area).toBeCloseTo(sum, 2);
    }
    expect(made.ink?.["magenta"]).toBeGreaterThan(1000);
  });

  it("of metres are those of the cut files as written, within 0.1 %", () => {
    const read: Record<string, number> = {};
    for (const { run: times, files } of job.sheets)
      for (const { layer, closed, points } of readSvg(out.files.get(files.cut.svg) as Uint8Array).lines) {
        if (layer === "registration") continue;
        const way = closed ? [...points, points[0] as (typeof points)[number]] : points;
        const length = way
          .slice(1)
          .reduce((sum, [x, y], i) => sum + Math.hypot(x - (way[i]?.[0] as number), y - (way[i]?.[1] as number)), 0);
        read[layer] = (read[layer] ?? 0) + length * times;
      }
    expect(Object.keys(made.cutting.length).sort()).toEqual(Object.keys(read).sort());
    expect(Object.keys(read)).toHaveLength(4);
    for (const [operation, way] of Object.entries(made.cutting.length))
      expect(Math.abs(way / (read[operation] as number) - 1)).toBeLessThan(0.001);
  });

  it("of minutes are those of a machine that works through the HP-GL files as written, within 2 %", () => {
    // A machine of its own: commands one by one, units of 0.025 mm, a lift whenever the tool comes down.
    const speeds: Readonly<Record<string, number>> = { 1: 300, 2: 400, 4: 250 };
    let total = 0;
    for (const { run: times, files } of job.sheets) {
      let [seconds, x, y, pen, down] = [0, 0, 0, "0", false];
      for (const command of new TextDecoder().decode(out.files.get(files.cut.hpgl)).split(";")) {
        if (command.startsWith("SP")) pen = command.slice(2);
        if (command.startsWith("PU")) down = false;
        if (!/^P[UD]/.test(command)) continue;
        if (command.startsWith("PD") && !down) [down, seconds] = [true, seconds + SPEED.lift];
        const numbers = command.slice(2).split(",").filter(Boolean).map(Number);
        for (let i = 0; i + 1 < numbers.length; i += 2) {
          const [u, v] = [(numbers[i] as number) / 40, (numbers[i + 1] as number) / 40];
          seconds += Math.hypot(u - x, v - y) / (down ? (speeds[pen] as number) : SPEED.travel);
          [x, y] = [u, v];
        }
      }
      total += seconds * times;
    }
    expect(Math.abs(made.cutting.seconds / total - 1)).toBeLessThan(0.02);
  });
});
