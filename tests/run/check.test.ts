// Reading and checking a job: every file opened once, every fault told once, all of them in one answer.
import { inMemory } from "@kitforme/run";
import { describe, expect, it } from "vitest";
import { check, run } from "../support/openers.ts";
import { card, named, pieceForm, SHOP, shelf } from "../support/shelf.ts";

const NAME = { slot: "name", box: [6, 12, 48, 14], size: 20, leastSize: 8, colour: "#ffffff", safe: 2 };
const tag = (more: object = {}) => ({
  "kit.json": { kit: "tag", pieces: [pieceForm("tag", { slots: [NAME], ...more })] },
  "tag.svg": card(60, 40),
});
const order = (lines: readonly object[], name = "T-1") => named(`${name}.json`, { order: name, lines });
const rules = (findings: readonly { rule: string }[]) => findings.map((f) => f.rule);
const shop = named("shop.json", SHOP);

describe("check", () => {
  it("opens each file once, and prepares a kit once that is named as a folder and by two orders", async () => {
    const store = shelf({ tag: tag(), other: { "kit.json": { kit: "other", pieces: [pieceForm("x")] } } });
    const done: string[] = [];
    const { findings } = await check(
      {
        shop,
        orders: [order([{ kit: "tag", quantity: 1 }]), order([{ kit: "tag", quantity: 3 }], "T-2")],
        folders: ["tag"],
      },
      store,
      { onProgress: ({ phase, what }) => void (phase === "prepare" && what !== "texts" && done.push(what)) },
    );
    expect(rules(findings)).toEqual(["slots-blank", "slots-blank"]);
    expect([...store.opened].sort()).toEqual(["other/kit.json", "tag/SHA256SUMS", "tag/kit.json", "tag/tag.svg"]);
    expect(done).toEqual(["tag/tag"]);
  });

  it("tries the sound texts of an order that has other faults, in the same answer", async () => {
    const texts = [
      { name: "Solveig", boat: "Aino" },
      { name: "Sol\u202eveig" },
      { name: "W".repeat(90) },
      { name: "山" },
    ];
    const { findings } = await check(
      { shop, orders: [order([{ kit: "tag", quantity: 4, texts }])], folders: [] },
      shelf({ tag: tag() }),
    );
    expect(findings.map((f) => [f.rule, f.where.copy])).toEqual(
      expect.arrayContaining([
        ["slot-unknown", undefined],
        ["text-unprintable", 2],
        ["text-too-long", 3],
        ["glyph-missing", 4],
      ]),
    );
  });

  it("refuses a slot's colour that is more ink than the press takes", async () => {
    const inked = (colour: readonly number[], more: object = {}) =>
      tag({ slots: [{ ...NAME, colour, ...more }] })["kit.json"];
    const kits = {
      heavy: { ...tag(), "kit.json": { ...inked([100, 90, 80, 70]), kit: "heavy" } },
      rim: {
        ...tag(),
        "kit.json": { ...inked([0, 0, 0, 100], { outline: { colour: [90, 90, 90, 90], width: 0.3 } }), kit: "rim" },
      },
      fine: { ...tag(), "kit.json": { ...inked([60, 40, 40, 100]), kit: "fine" } },
    };
    const { findings } = await check({ shop, orders: [], folders: Object.keys(kits) }, shelf(kits));
    const over = findings.filter((f) => f.rule === "slot-ink");
    expect(over.map((f) => [f.where.kit, f.where.slot, f.level])).toEqual([
      ["heavy", "name", "error"],
      ["rim", "name", "error"],
    ]);
    expect(over[0]?.message).toBe("The slot's colour is 340 % of ink, and the press takes 330 %.");
  });

  it("says before anything is cut that a piece has room for fewer tabs than the cutter is to leave", async () => {
    const cutters = Object.fromEntries(
      Object.entries(SHOP.cutters).map(([name, cutter]) => [
        name,
        { ...cutter, path: { tabs: { count: 4, length: 0.4 } } },
      ]),
    );
    const tabbed = named("shop.json", { ...SHOP, cutters });
    const kits = {
      tag: tag({ slots: [] }),
      chip: { "kit.json": { kit: "chip", pieces: [pieceForm("chip")] }, "chip.svg": card(9, 9) },
    };
    const { findings } = await check({ shop: tabbed, orders: [], folders: ["tag", "chip"] }, shelf(kits));
    const short = findings.filter((f) => f.rule === "tabs-short");
    expect(short.map((f) => f.where.kit)).toEqual(["chip"]);
    expect(short[0]?.message).toMatch(/^No tab finds a place .* asked for 4/);
  });

  it("reads kits that are not on the shelf, and holds orders against the shelf alone", async () => {
    const store = shelf({ tag: tag(), "draft/boat": { "kit.json": { kit: "boat", pieces: [pieceForm("x")] } } }, [
      "tag",
    ]);
    const { findings } = await check(
      { shop, orders: [order([{ kit: "boat", quantity: 1 }])], folders: ["draft/boat"] },
      store,
    );
    expect(rules(findings).sort()).toEqual(["file-missing", "kit-unknown"]);
    expect(findings.find((f) => f.rule === "kit-unknown")?.hint).toBe("Kits on hand: tag.");
  });

  it("tells the faults of shop, kits, pictures and texts in one answer, each once", async () => {
    const store = shelf({
      tag: {
        "kit.json": {
          kit: "tag",
          pieces: [
            pieceForm("tag", { slots: [NAME] }),
            pieceForm("bad", { drawing: "tag.svg", lines: { cutting: "#none" }, stock: "vellum" }),
            pieceForm("photo", { drawing: "tag.svg", artwork: { file: "photo.png", box: [-3, -3, 66, 46] } }),
            { ...pieceForm("odd"), perKit: "four" },
          ],
        },
        "tag.svg": card(60, 40),
        "photo.png": new Uint8Array([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 0]),
      },
      plain: tag(),
      // Named as its folder says, so that its words are looked at too.
      name: { ...tag(), "kit.json": { kit: "name", pieces: [pieceForm("tag", { slots: [NAME] })] } },
    });
    const orders = [
      order([{ kit: "tag", quantity: 1 }]),
      order([{ kit: "name", quantity: 1, texts: [{ name: "W".repeat(60) }] }], "T-2"),
    ];
    const both = [await check({ shop, orders }, store), await run({ shop, orders }, { kits: store, out: inMemory })];
    for (const { findings } of both) {
      expect(rules(findings.filter((f) => f.level === "error")).sort()).toEqual(
        [
          "kit-twice", // "plain" calls itself tag as well
          "kit-at-fault",
          "field-wrong",
          "stock-unknown",
          "selector-finds-nothing",
          "artwork-unreadable",
          "text-too-long",
        ].sort(),
      );
      for (const { message, hint } of findings) expect(Math.min(message.length, hint.length)).toBeGreaterThan(10);
    }
  });

  it("tells of two folders whose kits have one name, when it is asked for", async () => {
    const store = shelf({ a: tag(), b: tag(), c: { "kit.json": { kit: "c", pieces: [pieceForm("x")] } } });
    const named = await check({ shop, orders: [order([{ kit: "tag", quantity: 1 }])] }, store);
    expect(named.findings.find((f) => f.rule === "kit-twice")).toMatchObject({
      level: "error",
      where: { kit: "tag" },
      message: expect.stringContaining("a, b"),
    });
    const other = await check({ shop, orders: [], folders: ["c"] }, store);
    expect(rules(other.findings)).toEqual(["file-missing"]);
  });

  it("looks at fonts that no order has asked anything of, and tells of each once", async () => {
    const font = { ...NAME, font: "f.ttf" };
    const store = shelf({ tag: { ...tag({ slots: [font] }), "f.ttf": "no font" } });
    const orders = ["T-1", "T-2"].map((name) => order([{ kit: "tag", quantity: 1, texts: [{ name: "A" }] }], name));
    for (const some of [[], orders]) {
      const { findings } = await check({ shop, orders: some, folders: ["tag"] }, store);
      expect(findings).toMatchObject([{ rule: "font-unreadable", where: { kit: "tag", piece: "tag", slot: "name" } }]);
    }
  });

  it("refuses more pieces with words of their own than a job can hold, before it sets the first", async () => {
    const texts = Array.from({ length: 20_001 }, (_, i) => ({ name: `N${i}` }));
    const orders = [order([{ kit: "tag", quantity: texts.length, texts }])];
    const { findings } = await check({ shop, orders }, shelf({ tag: tag() }));
    expect(findings).toMatchObject([
      { rule: "job-too-large", level: "error", message: expect.stringContaining("20001") },
    ]);
  });

  it("tells a folder without kit.json by its name", async () => {
    const { findings } = await check({ shop, orders: [], folders: ["attic"] }, shelf({ attic: {} }));
    expect(findings).toMatchObject([{ rule: "kit-missing", where: { kit: "attic" }, level: "error" }]);
  });

  it("tells a piece that only marks, code or slug keep off every sheet, as make does", async () => {
    // The marks of a 210 x 297 sheet span 194 x 277 mm: 200 mm are too much for them, though the press prints 200.
    const wide = { tag: { ...tag({ slots: [], bleed: 0, turns: [0] }), "tag.svg": card(196, 100) } };
    const told = await check({ shop, orders: [], folders: ["tag"] }, shelf(wide));
    expect(told.findings).toMatchObject([
      { rule: "piece-too-large", message: expect.stringMatching(/ \d+(\.\d+)? mm too wide/) },
    ]);
    // As wide and high as that span, it lies on code and slug.
    const whole = { tag: { ...tag({ slots: [], bleed: 0, turns: [0] }), "tag.svg": card(190, 270) } };
    const store = shelf(whole);
    const orders = [order([{ kit: "tag", quantity: 1 }])];
    for (const { findings } of [
      await check({ shop, orders }, store),
      await run({ shop, orders }, { kits: store, out: inMemory }),
    ])
      expect(findings).toMatchObject([{ rule: "piece-obstructed", level: "error", where: { stock: "card" } }]);
  });

  it("gives the cautions, for the pieces it has read", async () => {
    const cautions = async (more: object, svg: string) => {
      const store = shelf({ tag: { ...tag({ slots: [], ...more }), "tag.svg": svg } });
      return (await check({ shop, orders: [], folders: ["tag"] }, store)).cautions.map((c) => c.rule);
    };
    expect(await cautions({}, card(60, 40))).toEqual(["caution.cutter", "caution.food"]);
    expect(await cautions({}, card(30, 40))).toEqual(["caution.cutter", "caution.small-parts", "caution.food"]);
    expect(await cautions({ stock: "board", artwork: null }, card(60, 40))).toEqual(["caution.cutter"]);
    expect(await cautions({}, "no drawing")).toEqual([]);
  });
});

describe("job-too-many-sheets", () => {
  const many = (quantity: number, perKit: number) =>
    check(
      { shop, orders: [order([{ kit: "tag", quantity }]), order([{ kit: "tag", quantity: 1 }], "T-2")] },
      shelf({ tag: tag({ perKit, slots: [] }) }),
    );
  // Tags of 60 x 40 mm on sheets of 210 x 297 mm: 25.9875 of them have the area of a sheet.
  it("a hundred thousand sheets are a job, one more is a slip of the keyboard", async () => {
    expect((await many(866_248, 3)).findings).toEqual([]);
    expect((await many(866_250, 3)).findings).toMatchObject([
      {
        rule: "job-too-many-sheets",
        level: "error",
        where: { order: "T-1", stock: "card" },
        message: expect.stringContaining("at least 100,001 sheets"),
      },
    ]);
  });
  it("and nothing is laid out", async () => {
    const input = { shop, orders: [order([{ kit: "tag", quantity: 1_000_000 }])] };
    const files = inMemory();
    const { job, findings } = await run(input, {
      kits: shelf({ tag: tag({ perKit: 10_000, slots: [] }) }),
      out: () => files,
    });
    expect(job).toBeUndefined();
    expect(findings).toMatchObject([{ message: expect.stringContaining("10,000,000,000 pieces") }]);
    expect(files.files.size).toBe(0);
  });
});

it("24 cards with the same fault are one finding with 24 places", async () => {
  const nameOf = (i: number): string => `card-${String(i + 1).padStart(2, "0")}`;
  const cards = Array.from({ length: 24 }, (_, i) => ({
    ...pieceForm(nameOf(i), { drawing: "card.svg", stock: "board", artwork: null }),
    perkit: 2,
  }));
  // Two holes with 0.6 mm of paper between them.
  const holes = '<path d="M10 10h8v8h-8zM18.6 10h8v8h-8z"/>';
  const svg = card(60, 40).replace("</svg>", `<g id="holes">${holes}</g></svg>`);
  const kit = {
    "kit.json": { kit: "cards", pieces: cards.map((one) => ({ ...one, lines: { cutting: "#cut, #holes" } })) },
    "card.svg": svg,
  };
  const { findings } = await check({ shop, orders: [], folders: ["cards"] }, shelf({ cards: kit }));
  expect(findings.map((f) => [f.level, f.rule, f.where.piece, f.places?.length])).toEqual([
    ["warning", "paper-thin", "card-01", 24],
    ["warning", "field-misspelt", undefined, 24],
  ]);
  expect(findings[1]?.where.field).toBe("pieces[0].perkit");
  expect(findings[1]?.places?.[23]).toMatchObject({ field: "pieces[23].perkit" });
  expect(findings[0]?.places?.map(({ piece }) => piece)).toEqual(cards.map((_, i) => nameOf(i)));
});
