import { readFileSync } from "node:fs";
import { mm } from "@kitforme/geometry";
import type { TextSlot as Slot } from "@kitforme/kit";
import { composed } from "@kitforme/kit/findings";
import { BLACK, setText } from "@kitforme/prepress";
import { describe, expect, it } from "vitest";
import { bundledTypeface } from "../../packages/prepress/src/text/bundled.ts";
import { levelsOf } from "../../packages/prepress/src/text/levels.ts";
import { glyphOutline } from "../../packages/prepress/src/text/outline.ts";
import { segment } from "../../packages/prepress/src/text/segment.ts";
import { shapeLine } from "../../packages/prepress/src/text/shape.ts";
import { openTypeface, type Typeface } from "../../packages/prepress/src/text/typeface.ts";
import { entryOf, sealed } from "../support/fonts.ts";
import { nameSlot, textCard } from "../support/text-card.ts";

const read = (file: string): Uint8Array =>
  new Uint8Array(readFileSync(new URL(`../../fixtures/fonts/${file}`, import.meta.url)));
const LORA = read("Lora-Bold.ttf");
const HEBREW = read("Assistant-Regular.ttf");
const ARABIC = read("NotoSansArabic-Regular.ttf");

const PIECE = textCard(200, 100);
const set = (text: string, fonts: readonly Uint8Array[], more: Partial<Slot> = {}) => {
  const slot: Slot = {
    ...nameSlot(180, 80, LORA),
    fonts: fonts.map((bytes, i) => ({ file: `fonts/${i}.ttf`, bytes })),
    ...more,
  };
  return setText(slot, text, PIECE, BLACK);
};
const told = async (...asked: Parameters<typeof set>): Promise<string[]> =>
  (await set(...asked)).findings.map((f) => `${f.level} ${f.rule}`);
/** What is drawn and in which sequence, wherever it stands. */
const drawn = async (...asked: Parameters<typeof set>): Promise<string> =>
  ((await set(...asked)).value?.outlines ?? "none").replace(/[^A-Z]+/g, "");

/** A font whose table goes by another name, so that nobody finds it, or holds other bytes, no more than it had. */
const altered = (font: Uint8Array, tag: string, as: string, holds?: Uint8Array): Uint8Array => {
  const changed = font.slice();
  const view = new DataView(changed.buffer);
  const entry = entryOf(changed, tag);
  changed.set(new TextEncoder().encode(as), entry);
  if (holds) {
    changed.set(holds, view.getUint32(entry + 8));
    view.setUint32(entry + 12, holds.length);
  }
  const end = 12 + 16 * view.getUint16(4);
  const entries: Uint8Array[] = [];
  for (let at = 12; at < end; at += 16) entries.push(changed.slice(at, at + 16));
  entries.sort((a, b) => Buffer.compare(a.subarray(0, 4), b.subarray(0, 4)));
  changed.set(Buffer.concat(entries), 12);
  return sealed(changed);
};
const opened = async (bytes: Uint8Array): Promise<Typeface> => {
  const face = await openTypeface(bytes, "font.ttf");
  if ("refused" in face) throw new Error(face.reason);
  return face;
};

describe("direction", () => {
  // Levels as GNU FriBidi 1.0.8 has them (`fribidi --levels`), of each character.
  it.each([
    ["שלום 😀 עולם", "ltr", "11111111111"],
    ["Noa 😀 נועה", "ltr", "0000001111"],
    ["אב👍🏽(12)", "rtl", "11111221"],
    ["سلام 😀 Anna", "rtl", "11111112222"],
    ["𞤀𞤣𞤤 Anna", "ltr", "11100000"],
    ["𐀀א𠮷", "ltr", "010"],
    ["📦 א 📦", "rtl", "11111"],
  ] as const)("of %s from %s", (text, direction, theirs) => {
    const levels = levelsOf(text, direction);
    let at = 0;
    const ours = Array.from(text, (c) => {
      const level = levels[at];
      at += c.length;
      return level;
    });
    expect(ours.join("")).toBe(theirs);
  });

  it("heeds the marks of direction that kits take, without a word: the sign stands where the buyer saw it", async () => {
    // Levels as FriBidi has them; the mark itself has no width.
    expect([...levelsOf("נועה C++", "rtl")].join("")).toBe("11111211");
    expect([...levelsOf("נועה C++\u200e", "rtl")].join("")).toBe("111112222");
    const [plain, marked] = [await set("נועה C++", [LORA, HEBREW]), await set("נועה C++\u200e", [LORA, HEBREW])];
    expect(marked.findings).toEqual([]);
    expect(marked.value?.outlines).not.toBe(plain.value?.outlines);
    expect(marked.value?.box.width).toBeCloseTo(plain.value?.box.width ?? 0, -3);
  });

  it("is that of each paragraph: Hebrew under Latin ends at the left", async () => {
    const both = await drawn("Anna\nנועה!", [LORA, HEBREW], { lines: 2 });
    expect(both).toBe((await drawn("Anna", [LORA, HEBREW])) + (await drawn("נועה!", [LORA, HEBREW])));
  });

  it("of a broken line is that of its paragraph: a number that opens the second line belongs to the Hebrew", async () => {
    const asked = { lines: 2, box: { x: mm(10), y: mm(10), width: mm(40), height: mm(80) }, leastSize: 20 };
    const { value } = await set("Noa אבגדהוז 12 הוזחטי", [LORA, HEBREW], asked);
    const commands = (value?.outlines ?? "").replace(/[^A-Z]+/g, "");
    expect(commands.endsWith(await drawn("12 הוזחטי", [LORA, HEBREW]))).toBe(true);
  });
});

describe("fonts without rules that others have", () => {
  // Glyphs of the font without its GPOS, as HarfBuzz 6.0.0 places them (`hb-shape --no-glyph-names`): x and y of each, units.
  it.each([
    ["J̌", "82@0,0 858@-5,-2"],
    ["q̣̃", "312@0,0 835@169,-255 830@73,-14"],
    ["Ą́", "21@0,0 851@197,30"],
    ["x̂́", "356@0,0 845@-39,0"],
  ])("stand the marks of %s about their letter", async (text, theirs) => {
    const face = await opened(altered(LORA, "GPOS", "gpos"));
    const { glyphs } = shapeLine(text, segment(text, [face]).runs);
    for (const [i, at] of theirs.split(" ").entries()) {
      const [glyph, x, y] = at.split(/[@,]/).map(Number) as [number, number, number];
      expect(glyphs[i]?.glyph).toBe(glyph);
      expect(Math.abs((glyphs[i]?.x ?? 9) * face.unitsPerEm - x)).toBeLessThan(1.5);
      expect(Math.abs((glyphs[i]?.y ?? 9) * face.unitsPerEm - y)).toBeLessThan(1.5);
    }
  });

  // Assistant's GPOS has anchors for few letters: HarfBuzz leaves the tilde of G at the letter's end, in the letter beside it.
  it.each([
    [LORA, "m\u0303"],
    [HEBREW, "G\u0303"],
    [HEBREW, "W\u030a"],
    [HEBREW, "e\u0303\u0301"],
  ])("stand marks that the rules forgot above their letter: %#", async (bytes, text) => {
    const face = await opened(bytes);
    const { glyphs, advance } = shapeLine(text.normalize("NFC"), segment(text.normalize("NFC"), [face]).runs);
    const boxes = glyphs.map(({ glyph, x, y }) => {
      const box = glyphOutline(face, glyph).bounds;
      const em = face.unitsPerEm;
      if (!box) throw new Error("a glyph without ink");
      return { middle: x + (box.left + box.right) / 2 / em, bottom: y + box.bottom / em, top: y + box.top / em };
    });
    expect(boxes.length).toBeGreaterThan(1);
    for (const [i, { middle, bottom }] of boxes.slice(1).entries()) {
      expect(Math.abs(middle - advance / 2)).toBeLessThan(0.05);
      expect(bottom).toBeGreaterThan(boxes[i]?.top ?? 9);
    }
  });

  it("but with a table of pairs are kerned by it", async () => {
    const plain = await opened(LORA);
    const [a, v] = ["A", "V"].map((c) => plain.font.nominalGlyph(c.codePointAt(0) as number) as number) as [
      number,
      number,
    ];
    const table = new Uint8Array(24);
    const view = new DataView(table.buffer);
    // OpenType specification, table kern: version 0, one subtable of format 0 for lines that run across, one pair.
    for (const [at, value] of [
      [2, 1],
      [6, 20],
      [8, 1],
      [10, 1],
      [18, a],
      [20, v],
    ] as const)
      view.setUint16(at, value);
    view.setInt16(22, -120);
    const face = await opened(altered(LORA, "GPOS", "kern", table));
    const width = (text: string): number => shapeLine(text, segment(text, [face]).runs).advance * face.unitsPerEm;
    expect(width("AV")).toBeCloseTo(width("A") + width("V") - 120, 6);
    expect(width("VA")).toBeCloseTo(width("A") + width("V"), 6);
  });

  it("are refused where letters would not join", async () => {
    const [bare] = [altered(ARABIC, "GSUB", "gsub")];
    expect(await told("محمد", [bare])).toEqual(["error font-unshaped"]);
    expect((await set("محمد", [bare])).findings[0]?.message).toContain("no rules for setting Arabic");
    expect(await told("محمد", [ARABIC])).toEqual([]);
    // Hebrew letters do not join.
    expect(await told("נועה", [altered(HEBREW, "GSUB", "gsub")])).toEqual([]);
  });

  it("are named where they hold several: the first is set", async () => {
    const start = 16;
    const font = new Uint8Array(start + LORA.length);
    font.set(LORA, start);
    const view = new DataView(font.buffer);
    for (const [at, value] of [
      [0, 0x74746366],
      [4, 0x10000],
      [8, 2],
      [12, start],
    ] as const)
      view.setUint32(at, value);
    for (let at = start + 12; at < start + 12 + 16 * view.getUint16(start + 4); at += 16)
      view.setUint32(at + 8, view.getUint32(at + 8) + start);
    expect(await told("Solveig", [font])).toEqual(["note font-collection"]);
    expect(await drawn("Solveig", [font])).toBe(await drawn("Solveig", [LORA]));
  });
});

describe("what would print otherwise than it is meant is said", () => {
  it.each([
    ["a mark without a letter", "\u0301Anna", "text-mark-alone", "U+0301"],
    ["a sign without a letter, on which no circle is printed", "\u093f", "text-mark-alone", "U+093F"],
    ["signs joined that the font has one by one", "©\u200d®", "glyph-parted", "as 2 signs"],
    ["a form of a letter that the font has not", "A\ufe00nna", "glyph-variant", "U+FE00"],
    ["nothing that can be seen", "\u200d\u200d", "text-blank", "U+200D"],
    ["a name as a page writes it", "Tom &amp; Jerry", "text-encoded", '"&amp;"'],
    ["a place that a program forgot to fill", "Hi {{name}}", "text-encoded", '"{{name}}"'],
    ["the value of nothing", "undefined", "text-encoded", '"undefined"'],
    ["letters of an address bar", "Anna%20Maria", "text-encoded", '"%20"'],
    ["two bytes for a letter", "AndrÃ© MÃ¼ller", "text-encoded", '"André Müller"'],
  ])("%s", async (_, text, rule, says) => {
    const { findings } = await set(text, [LORA], { fonts: [] });
    expect(findings.map((f) => `${f.level} ${f.rule}`)).toEqual([`warning ${rule}`]);
    expect(findings[0]?.message).toContain(says);
  });

  it.each(["Tom & Jerry", "AT&T", "CAFÉ™", "Null", "50 %", "a {b}", "Müller", "¡Olé!", "René\u00a0!"])(
    "and nothing of %s",
    async (text) => expect(await told(text, [], { fonts: [] })).toEqual([]),
  );

  it("prints no dotted circle", async () => {
    const [circle, mark, both] = [
      await drawn("\u25cc", []),
      await drawn("\u093f", []),
      await drawn("\u25cc\u093f", []),
    ];
    expect(both).toContain(circle);
    expect(mark).not.toContain(circle);
    expect(mark.length).toBeGreaterThan(0);
  });

  it("refuses what cannot be seen in a slot that must be filled", async () => {
    expect(await told("\u2800", [LORA], { required: true })).toContain("error glyph-missing");
    expect(await told("\u200d", [LORA], { required: true })).toEqual(["error text-blank"]);
  });

  it("keeps a name's own form of an ideograph, which NFC would replace", async () => {
    expect(composed("\ufa19e\u0301")).toBe("\ufa19é");
    expect((await set("\ufa19", [LORA])).findings[0]?.message).toContain("U+FA19");
  });
});

describe("language", () => {
  // Glyphs as HarfBuzz 6.0.0 gives them (`hb-shape --no-glyph-names --language=…`) in the bundled font.
  it.each([
    ["ro", "Şţ", "328 292"],
    [undefined, "Şţ", "287 848"],
    ["sr", "б", "2092"],
    ["bg", "б", "457"],
    [undefined, "б", "457"],
  ])("%s has its own letters: %s", (language, text, theirs) => {
    const { glyphs } = shapeLine(text, segment(text, [bundledTypeface()], levelsOf(text), language).runs);
    expect(glyphs.map(({ glyph }) => glyph).join(" ")).toBe(theirs);
  });

  it("is that of the slot", async () => {
    expect(await drawn("Şţ", [], { fonts: [], language: "ro" })).not.toBe(await drawn("Şţ", [], { fonts: [] }));
    // Turkish has no ligature of f and i, in which i and ı look alike.
    expect(await drawn("fi", [LORA], { language: "tr" })).not.toBe(await drawn("fi", [LORA]));
  });
});

describe("lines", () => {
  const bottomOf = async (text: string): Promise<number> => {
    const { value } = await set(text, [LORA], { lines: 2, valign: "top" });
    return (value?.box.y ?? 0) + (value?.box.height ?? 0);
  };

  it("move apart where a pile of marks would run into the line above", async () => {
    const plain = await bottomOf("Aggg\nAggg");
    expect(await bottomOf("Anna\nAggg")).toBeCloseTo(plain, 6);
    expect(await bottomOf("gggg\nA\u030a\u0301\u0303\u0306ggg")).toBeGreaterThan(plain + 300);
  });

  it("are reported where the slot's own leading has them run into each other", async () => {
    expect(await told("gggg\nÅÅÅÅ", [LORA], { lines: 2, leading: 0.7 })).toEqual(["warning text-lines-touch"]);
    expect(await told("gggg\nÅÅÅÅ", [LORA], { lines: 2, leading: 1.4 })).toEqual([]);
    expect(await told("xxxx\nxxxx", [LORA], { lines: 2, leading: 0.7 })).toEqual([]);
  });
});
