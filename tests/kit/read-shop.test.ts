// A shop as the contract writes it, and every way to get it wrong.
import { readFileSync } from "node:fs";
import { readShop } from "@kitforme/kit";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

const SHOP = () => ({
  stocks: {
    card: {
      title: "White card 270 g/m2",
      sheet: [320, 450],
      caliper: 0.34,
      grain: "long",
      press: "digital",
      cutter: "flatbed",
    },
    greyboard: { sheet: [320, 450], press: null, cutter: "flatbed" },
  } as Record<string, unknown>,
  presses: {
    digital: {
      margins: { top: 5, right: 5, bottom: 8, left: 5 },
      resolution: 300,
      bleed: 3,
      colour: "cmyk",
      register: 0.5,
    },
  } as Record<string, unknown>,
  cutters: {
    flatbed: {
      formats: ["svg", "dxf", "hpgl"],
      tolerance: 1.0,
      clearance: 1.0,
      margins: { top: 5, right: 5, bottom: 5, left: 5 },
      marks: { shape: "disc", size: 5, clear: 2 },
      tools: { cutting: { pen: 1 }, creasing: { pen: 2 }, perforating: { pen: 3 }, partialCutting: { pen: 4 } },
    },
  } as Record<string, Record<string, unknown>>,
  setup: { sheetChange: 1, newLayout: 20 } as unknown,
});

/** The shop with one value set at a path like `stocks.card.sheet`. */
const changed = (path: string, value: unknown): unknown => {
  const shop: unknown = SHOP();
  const steps = path.split(".");
  let at = shop as Record<string, unknown>;
  for (const step of steps.slice(0, -1)) at = at[step] as Record<string, unknown>;
  const last = steps.at(-1) as string;
  if (value === undefined) delete at[last];
  else at[last] = value;
  return shop;
};

describe("readShop", () => {
  it("reads the contract's shop into micrometres", () => {
    const { value, findings } = readShop(JSON.stringify(SHOP()));
    expect(findings).toEqual([]);
    expect(value?.stocks["card"]).toEqual({
      stock: "card",
      title: "White card 270 g/m2",
      sheets: [{ width: 320_000, height: 450_000 }],
      caliper: 340,
      grain: "long",
      press: {
        name: "digital",
        margins: { top: 5000, right: 5000, bottom: 8000, left: 5000 },
        resolution: 300,
        bleed: 3000,
        colour: "cmyk",
        register: 500,
      },
      cutter: {
        name: "flatbed",
        formats: ["svg", "dxf", "hpgl"],
        tolerance: 1000,
        clearance: 1000,
        bareClearance: 1000,
        margins: { top: 5000, right: 5000, bottom: 5000, left: 5000 },
        marks: { shape: "disc", size: 5000, clear: 2000, along: 0 },
        least: { bridge: 1000, opening: 3000, corner: 1000 },
        tools: { cutting: { pen: 1 }, creasing: { pen: 2 }, perforating: { pen: 3 }, partialCutting: { pen: 4 } },
        axes: { origin: "lowerLeft", swap: false, offset: [0, 0] },
        path: { overcut: 0, bladeOffset: 0, tabs: null, dash: {} },
      },
    });
    expect(value?.stocks["greyboard"]).toMatchObject({ title: "greyboard", press: null });
    expect(value?.setup).toEqual({ sheetChange: 1, newLayout: 20 });
    expect(value?.overs).toEqual({ sheets: 0, share: 0 });
  });
  it("reads the demo's shop", () => {
    expect(readShop(readFileSync("fixtures/demo/shop.json", "utf8")).findings).toEqual([]);
  });
  it("takes a byte order mark, overs, and more sheet sizes, each once", () => {
    const shop = changed("stocks.card.sheets", [
      [450, 320],
      [320, 450],
    ]) as object;
    const { value } = readShop(`\ufeff${JSON.stringify({ ...shop, overs: { sheets: 2, share: 0.02 } })}`);
    expect(value?.stocks["card"]?.sheets).toEqual([
      { width: 320_000, height: 450_000 },
      { width: 450_000, height: 320_000 },
    ]);
    expect(value?.overs).toEqual({ sheets: 2, share: 0.02 });
  });
  it("has no stocks but its own", () => {
    const { value } = readShop(SHOP());
    expect(value?.stocks["constructor"]).toBeUndefined();
    expect(value?.stocks["toString"]).toBeUndefined();
  });

  it("says of a text without the right form what it should be", () => {
    expect(readShop({ ...SHOP(), prices: { currency: "eur" } }).findings).toMatchObject([
      {
        rule: "field-wrong",
        where: { field: "prices.currency" },
        message: expect.stringContaining("is not a currency"),
      },
    ]);
  });
  it.each<[string, unknown, string]>([
    ["stocks.card.sheet", [320], "stocks.card.sheet"],
    ["stocks.card.sheet", [320, 450, 1], "stocks.card.sheet"],
    ["stocks.card.sheet", [0, 450], "stocks.card.sheet[0]"],
    ["stocks.card.sheet", [-320, 450], "stocks.card.sheet[0]"],
    ["stocks.card.sheet", [320, NaN], "stocks.card.sheet[1]"],
    ["stocks.card.sheet", [320, Infinity], "stocks.card.sheet[1]"],
    ["stocks.card.sheet", [320, 10_001], "stocks.card.sheet[1]"],
    ["stocks.card.sheet", ["320", 450], "stocks.card.sheet[0]"],
    ["stocks.card.grain", "diagonal", "stocks.card.grain"],
    ["stocks.card.press", undefined, "stocks.card.press"],
    ["stocks.card.cutter", null, "stocks.card.cutter"],
    ["stocks.card.caliper", 0, "stocks.card.caliper"],
    ["presses.digital.margins.top", -1, "presses.digital.margins.top"],
    ["presses.digital.margins.top", undefined, "presses.digital.margins.top"],
    ["presses.digital.resolution", 0, "presses.digital.resolution"],
    ["presses.digital.bleed", -3, "presses.digital.bleed"],
    ["presses.digital.colour", "rgba", "presses.digital.colour"],
    ["cutters.flatbed.formats", [], "cutters.flatbed.formats"],
    ["cutters.flatbed.formats", ["svg", "eps"], "cutters.flatbed.formats[1]"],
    ["cutters.flatbed.marks.size", 0, "cutters.flatbed.marks.size"],
    ["cutters.flatbed.marks.shape", "star", "cutters.flatbed.marks.shape"],
    ["cutters.flatbed.tools.cutting.pen", 1.5, "cutters.flatbed.tools.cutting.pen"],
    ["cutters.flatbed.tools.cutting.pen", 0, "cutters.flatbed.tools.cutting.pen"],
    ["setup.newLayout", -1, "setup.newLayout"],
    ["stocks", [], "stocks"],
    ["cutters", undefined, "cutters"],
  ])("%s = %j is a finding at its place", (path, value, field) => {
    const { findings, value: shop } = readShop(changed(path, value));
    expect(shop).toBeUndefined();
    expect(findings).toMatchObject([{ level: "error", rule: "field-wrong", where: { file: "shop.json", field } }]);
    expect(findings[0]?.message.startsWith(`${field}: `)).toBe(true);
  });
  it("1e400 in the text is no number", () => {
    const text = JSON.stringify(SHOP()).replace("450", "1e400");
    expect(readShop(text).findings).toMatchObject([{ rule: "field-wrong", where: { field: "stocks.card.sheet[1]" } }]);
  });
  it("tells all faults at once", () => {
    const shop = changed("stocks.card.sheet", [0, 0]) as { presses: unknown; setup: unknown };
    shop.presses = 3;
    shop.setup = null;
    expect(readShop(shop).findings.map((f) => f.where.field)).toEqual([
      "stocks.card.sheet[0]",
      "stocks.card.sheet[1]",
      "presses",
      "setup",
    ]);
  });

  it.each<[string, unknown, string, string]>([
    ["stocks.card.press", "offset", "press-unknown", "Known: digital"],
    ["stocks.card.press", "constructor", "press-unknown", "Known: digital"],
    ["stocks.card.cutter", "laser", "cutter-unknown", "Known: flatbed"],
    ["stocks", {}, "shop-empty", "stocks"],
    ["cutters", {}, "shop-empty", "cutters"],
  ])("%s = %j: %s", (path, value, rule, words) => {
    const { findings } = readShop(changed(path, value));
    const met = findings.find((f) => f.rule === rule);
    expect(met?.level).toBe("error");
    expect(`${met?.message} ${met?.hint}`).toContain(words);
  });
  it("sheet-without-room: margins may not meet", () => {
    expect(readShop(changed("stocks.card.sheet", [10.001, 450])).findings).toEqual([]);
    expect(readShop(changed("stocks.card.sheet", [10, 450])).findings.map((f) => f.rule)).toEqual([
      "sheet-without-room",
      "sheet-without-room",
    ]);
  });
  it("sheet-beyond-table: a sheet lies on the bed either way round, and one that does not is refused with both sizes", () => {
    const bed = (table: readonly number[]) => changed("cutters.flatbed.table", table);
    for (const table of [
      [320, 450],
      [450, 320],
      [1000, 700],
    ])
      expect(readShop(bed(table)).findings).toEqual([]);
    for (const [table, size] of [
      [[319.9, 450], "319.9 x 450"],
      [[320, 449], "320 x 449"],
      [[449, 320], "449 x 320"],
      [[319, 2000], "319 x 2000"],
    ] as const) {
      const { findings } = readShop(bed(table));
      const beyond = findings.filter(({ rule }) => rule === "sheet-beyond-table");
      // Of every stock that this cutter works, each told by its name.
      expect(beyond.length).toBeGreaterThan(0);
      expect(beyond.length).toBe(findings.length);
      expect(beyond[0]).toMatchObject({ level: "error", where: { stock: expect.any(String) } });
      expect(beyond[0]?.message).toContain(`${size} mm`);
      expect(beyond[0]?.message).toContain("320 x 450 mm");
    }
  });
  it("sheet-beyond-hpgl: 32767 units of 0.025 mm are 819.175 mm", () => {
    const sheet = (high: number) => changed("stocks.card.sheet", [320, high]);
    expect(readShop(sheet(819.175)).findings).toEqual([]);
    const { value, findings } = readShop(sheet(819.2));
    expect(findings).toMatchObject([
      {
        rule: "sheet-beyond-hpgl",
        level: "warning",
        where: { stock: "card" },
        message: expect.stringContaining("32768 HP-GL units"),
      },
    ]);
    expect(value).toBeDefined();
    const plain = sheet(1000) as { cutters: { flatbed: { formats: string[] } } };
    plain.cutters.flatbed.formats = ["svg", "dxf"];
    expect(readShop(plain).findings).toEqual([]);
  });
  it("pens-shared and tool-unknown are warnings", () => {
    expect(readShop(changed("cutters.flatbed.tools.creasing.pen", 1))).toMatchObject({
      value: { setup: { newLayout: 20 } },
      findings: [{ level: "warning", rule: "pens-shared", message: expect.stringContaining("creasing and cutting") }],
    });
    expect(readShop(changed("cutters.flatbed.tools.gluing", { pen: 9 })).findings).toMatchObject([
      { level: "warning", rule: "tool-unknown" },
    ]);
  });
  it("a field that the shop's form does not know is reported with its place, at any depth", () => {
    const odd = readShop(changed("presses.digital.colourOfTheDoor", "green"));
    expect(odd.value).toBeDefined();
    expect(odd.findings.map((f) => [f.rule, f.level, f.where?.field ?? f.where])).toContainEqual([
      "field-unknown",
      "warning",
      "presses.digital.colourOfTheDoor",
    ]);
  });

  it("names are judged", () => {
    const shop = SHOP();
    shop.stocks["a/b"] = shop.stocks["card"];
    expect(readShop(shop).findings).toMatchObject([{ rule: "name-bad", message: expect.stringContaining("a/b") }]);
  });
  it("never throws", () => {
    fc.assert(
      fc.property(fc.oneof(fc.anything(), fc.json(), fc.string()), (input) => {
        const { value, findings } = readShop(input);
        expect(value !== undefined || findings.length > 0).toBe(true);
      }),
      { numRuns: 300, seed: 5 },
    );
  });

  it("takes a bundled profile by its name, on a press of its colours", () => {
    const { value, findings } = readShop(JSON.stringify(changed("presses.digital.profile", "FOGRA29")));
    expect(findings).toEqual([]);
    expect(value?.stocks["card"]?.press).toMatchObject({ colour: "cmyk", bundled: "FOGRA29" });
    const rgb = changed("presses.digital.profile", "FOGRA29") as ReturnType<typeof SHOP>;
    rgb.presses["digital"] = { ...(rgb.presses["digital"] as object), colour: "rgb" };
    expect(readShop(JSON.stringify(rgb)).findings).toMatchObject([
      { rule: "profile-unusable", level: "error", where: { field: "presses.digital.profile" } },
    ]);
  });
});
