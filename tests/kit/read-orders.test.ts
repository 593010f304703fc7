import { readFileSync } from "node:fs";
import { type KitsOnHand, type Order, readOrders } from "@kitforme/kit";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

const slot = (name: string, required?: boolean) => ({
  kind: "text" as const,
  slot: name,
  box: { x: 0, y: 0, width: 1, height: 1 },
  fonts: [],
  size: 12,
  leastSize: 12,
  align: "left" as const,
  colour: "#000000",
  safe: 0,
  ...(required === undefined ? {} : { required }),
});
const HAND: KitsOnHand = {
  kits: [
    { kit: "lantern", pieces: [{ slots: [slot("boat")] }, { slots: [slot("boat"), slot("Grüße")] }] },
    { kit: "plain", pieces: [{ slots: [] }] },
    { kit: "strict", pieces: [{ slots: [slot("name", true)] }] },
  ],
  atFault: ["broken"],
};
const read = (...orders: unknown[]) =>
  readOrders(
    orders.map((text, i) => ({ file: `${i + 1}.json`, text })),
    HAND,
  );
const one = (line: object, more = {}) => read({ order: "A-1", lines: [line], ...more });
const rules = (answer: { findings: readonly { rule: string }[] }) => answer.findings.map((f) => f.rule);

describe("readOrders", () => {
  it("does not parse a text of more than 32 million characters", () => {
    const { findings } = read(" ".repeat(32 * 1024 * 1024 + 1));
    expect(findings).toMatchObject([{ rule: "file-too-large", message: expect.stringContaining("33554432") }]);
  });
  it("reads an order as the contract writes it", () => {
    const { value, findings } = read(
      JSON.stringify({
        order: "HL-2041",
        due: "2026-12-04",
        lines: [
          { kit: "lantern", quantity: 25 },
          {
            kit: "lantern",
            quantity: 2,
            texts: [
              { boat: "Solveig", Grüße: "" },
              { boat: "Aino", Grüße: "x" },
            ],
          },
        ],
      }),
    );
    expect(findings).toMatchObject([{ level: "note", rule: "slots-blank", where: { line: 1 } }]);
    expect(value).toEqual([
      {
        order: "HL-2041",
        due: "2026-12-04",
        lines: [
          { kit: "lantern", quantity: 25 },
          {
            kit: "lantern",
            quantity: 2,
            texts: [
              { boat: "Solveig", Grüße: "" },
              { boat: "Aino", Grüße: "x" },
            ],
          },
        ],
      } satisfies Order,
    ]);
  });
  it("gives texts and slot names in NFC", () => {
    const decomposed = "Gru\u0308ße";
    const { value, findings } = one({
      kit: "lantern",
      quantity: 1,
      texts: [{ boat: "A\u030aa", [decomposed]: "e\u0301" }],
    });
    expect(findings).toEqual([]);
    expect({ ...value?.[0]?.lines[0]?.texts?.[0] }).toEqual({ boat: "\u00c5a", "Gr\u00fcße": "\u00e9" });
  });
  it.each(["2026-2-4", "2026-02-30", "04.12.2026", "2026-12-04T10:00", 20261204, ""])("due %j is no date", (due) => {
    expect(one({ kit: "plain", quantity: 1 }, { due }).findings).toMatchObject([
      { rule: "field-wrong", where: { field: "due", file: "1.json" } },
    ]);
  });
  it.each([0, -1, 1.5, NaN, Infinity, "3", null, 1_000_001])("quantity %j is none", (quantity) => {
    expect(one({ kit: "plain", quantity }).findings).toMatchObject([
      { rule: "field-wrong", where: { field: "lines[0].quantity" } },
    ]);
  });
  it("an order without lines is none", () => {
    expect(rules(read({ order: "A", lines: [] }))).toEqual(["field-wrong"]);
  });
  it("kit-unknown and kit-at-fault", () => {
    expect(one({ kit: "lantem", quantity: 1 }).findings).toMatchObject([
      {
        rule: "kit-unknown",
        where: { order: "A-1", line: 1, kit: "lantem" },
        hint: "Kits on hand: lantern, plain, strict, broken.",
      },
    ]);
    expect(rules(one({ kit: "broken", quantity: 1 }))).toEqual(["kit-at-fault"]);
    expect(rules(one({ kit: "constructor", quantity: 1 }))).toEqual(["kit-unknown"]);
  });
  it("slot-unknown names the copies and the slots there are", () => {
    const texts = Array.from({ length: 9 }, () => ({ boat: "a", Grüße: "b", boot: "c" }));
    expect(one({ kit: "lantern", quantity: 9, texts }).findings).toMatchObject([
      {
        rule: "slot-unknown",
        where: { slot: "boot", line: 1 },
        message: 'Copies 1, 2, 3, 4, 5 and 4 more: the kit has no slot "boot".',
        hint: "Its slots are boat, Grüße.",
      },
    ]);
    expect(one({ kit: "plain", quantity: 1, texts: [{ x: "y" }] }).findings).toMatchObject([
      { rule: "slot-unknown", message: expect.stringContaining("Copy 1") },
    ]);
  });
  it("slot-without-text warns, and is an error for a slot that must be filled", () => {
    expect(one({ kit: "lantern", quantity: 1, texts: [{ boat: "a" }] })).toMatchObject({
      value: [{ order: "A-1" }],
      findings: [{ rule: "slot-without-text", level: "warning", where: { slot: "Grüße" } }],
    });
    expect(one({ kit: "lantern", quantity: 3 }).findings).toMatchObject([
      { level: "note", rule: "slots-blank", message: expect.stringContaining("stay blank on all 3 copies") },
    ]);
    expect(one({ kit: "strict", quantity: 3 }).findings).toMatchObject([{ rule: "slot-without-text", level: "error" }]);
    expect(one({ kit: "strict", quantity: 1, texts: [{ name: " " }] }).findings).toMatchObject([{ level: "error" }]);
    expect(rules(one({ kit: "strict", quantity: 1, texts: [{ name: "N" }] }))).toEqual([]);
  });
  it("texts-count: one entry for each copy", () => {
    const texts = [
      { boat: "a", Grüße: "" },
      { boat: "b", Grüße: "" },
    ];
    expect(rules(one({ kit: "lantern", quantity: 2, texts }))).toEqual([]);
    expect(one({ kit: "lantern", quantity: 3, texts }).findings).toMatchObject([
      { rule: "texts-count", message: "3 copies are ordered, but there are texts for 2." },
    ]);
    expect(rules(one({ kit: "lantern", quantity: 1, texts }))).toEqual(["texts-count"]);
  });
  it.each([
    ["a\u0000", "U+0000"],
    ["a\nb", "U+000A"],
    ["\u202eevil", "U+202E"],
    ["\u2066x\u2069", "U+2066"],
    ["\ud800", "Unicode"],
    ["\ufeffx", "U+FEFF"],
  ])("text-unprintable: %j", (boat, words) => {
    expect(one({ kit: "lantern", quantity: 1, texts: [{ boat, Grüße: "" }] }).findings).toMatchObject([
      { rule: "text-unprintable", where: { slot: "boat" }, message: expect.stringContaining(words) },
    ]);
  });
  it("names in any script, with their joiners, are printable", () => {
    for (const boat of ["Ἀργώ", "Ладога", "سفينة", "क्षत्रिय", "می‌خواهم", "👩‍👧", "O'Neill & Søn", "\u200eA"])
      expect(rules(one({ kit: "lantern", quantity: 1, texts: [{ boat, Grüße: "" }] })), boat).toEqual([]);
  });
  it("the same order twice with the same content is one", () => {
    const order = { order: "A", lines: [{ kit: "lantern", quantity: 1, texts: [{ boat: "a", Grüße: "b" }] }] };
    const again = { lines: [{ texts: [{ Grüße: "b", boat: "a" }], quantity: 1, kit: "lantern" }], order: "A" };
    expect(read(order, again).value).toHaveLength(1);
    expect(rules(read(order, again))).toEqual([]);
  });
  it("order-twice: with other content it is an error that names both files", () => {
    const answer = read(
      { order: "A", lines: [{ kit: "plain", quantity: 1 }] },
      { order: "A", lines: [{ kit: "plain", quantity: 2 }] },
    );
    expect(answer.value).toBeUndefined();
    expect(answer.findings).toMatchObject([
      { rule: "order-twice", where: { order: "A", file: "2.json" }, message: expect.stringContaining("1.json") },
    ]);
  });
  it("name-bad: an order's name becomes part of file names", () => {
    for (const order of ["../x", "a/b", "CON", ".x"])
      expect(rules(read({ order, lines: [{ kit: "plain", quantity: 1 }] })), order).toEqual(["name-bad"]);
  });
  it("all faults of all files come at once", () => {
    const answer = read(
      "{",
      { order: 3, lines: [{ kit: "x", quantity: 0 }] },
      { order: "B", lines: [{ kit: "x", quantity: 1 }] },
    );
    expect(answer.findings.map((f) => [f.where.file, f.rule])).toEqual([
      ["1.json", "json-broken"],
      ["2.json", "field-wrong"],
      ["2.json", "field-wrong"],
      ["3.json", "kit-unknown"],
    ]);
  });
  it("reads the demo's orders, but for the kits", () => {
    const order = readFileSync("fixtures/demo/orders/HM-1041.json", "utf8");
    expect(read(order).findings.every((f) => f.rule === "kit-unknown")).toBe(true);
  });
  it("never throws", () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.anything(), fc.json(), fc.record({ order: fc.string(), lines: fc.array(fc.anything()) })),
        (input) => {
          const { value, findings } = read(input);
          expect(value !== undefined || findings.length > 0).toBe(true);
        },
      ),
      { numRuns: 300, seed: 9 },
    );
  });
});
