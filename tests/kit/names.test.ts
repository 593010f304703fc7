// Names and titles that are not what they look like are refused before they reach a file, a log or paper.
import { describe, expect, it } from "vitest";
import { badName, badPath, badTitle, readOrders, readShop } from "@kitforme/kit";

const BAD: readonly (readonly [string, string])[] = [
  ["a terminal's escape sequence", "A\u001b[31mred"],
  ["a bell", "A\u0007"],
  ["a line end", "A\nB"],
  ["a control sequence introducer of 8 bits", "A\u009b31m"],
  ["a right-to-left override", "A\u202egpj.1"],
  ["an isolate", "A\u2066B"],
  ["a zero-width space", "A\u200bB"],
  ["a byte order mark inside", "A\ufeffB"],
  ["a soft hyphen", "A\u00adB"],
  ["a Hangul filler", "A\u3164"],
  ["a blank of braille", "A\u2800B"],
  ["a tag", "A\u{e0041}"],
  ["a variation selector", "A\ufe0f"],
  ["a joiner between Latin letters", "A\u200dB"],
  ["a joiner at the end", "A\u200c"],
  ["a line separator", "A\u2028B"],
  ["half a pair of surrogates", "A\ud83d"],
  ["the sign for lost letters", "A\ufffd"],
  ["eight stacked accents", `A${"\u0301".repeat(8)}`],
];
const GOOD = ["Lantern 2", "Łódź", "Đặng-Thị", "کتاب\u200cها", "दृ\u200dश्य", "שָׁלוֹם", "ก้ำ", "日本語", "Ærø_2.b"];

const margins = { top: 5, right: 5, bottom: 5, left: 5 };
const stock = { sheet: [320, 450], press: null, cutter: "table" };
const cutter = {
  formats: ["svg"],
  tolerance: 1,
  clearance: 1,
  margins,
  marks: { shape: "disc", size: 5, clear: 2 },
  tools: { cutting: { pen: 1 } },
};
const shopWith = (stocks: object): object => ({ stocks, cutters: { table: cutter } });

const order = (name: string) => ({ order: name, lines: [{ kit: "k", quantity: 1 }] });

describe("names and titles", () => {
  it.each(BAD)("%s", (_, text) => {
    expect(badName(text)).toBeDefined();
    expect(badTitle(text)).toBeDefined();
    expect(badPath(`${text}.svg`)).toBeDefined();
    const { findings } = readOrders([{ file: "a.json", text: order(text) }], { kits: [{ kit: "k", pieces: [] }] });
    expect(findings).toMatchObject([{ rule: "name-bad", level: "error" }]);
    // What is reported must not carry what it warns of.
    expect(findings[0]?.message).not.toMatch(/[\p{Cc}\u202e\u2066\u200b\ufeff]/u);
    expect(readShop(shopWith({ card: { ...stock, title: text } })).findings).toMatchObject([
      { rule: "title-bad", where: { stock: "card" } },
    ]);
    expect(readShop(shopWith({ [text]: stock })).findings).toMatchObject([{ rule: "name-bad" }]);
    expect(readShop(shopWith({ card: stock })).findings).toEqual([]);
  });
  it.each(GOOD)("%s is a name", (name) => {
    expect(badName(name)).toBeUndefined();
    expect(badTitle(`${name} / ${name}: "?"`)).toBeUndefined();
  });
});
