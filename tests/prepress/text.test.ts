import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import type { Rect } from "@kitforme/geometry";
import { fromPoints, mm } from "@kitforme/geometry";
import type { Piece, TextSlot as Slot } from "@kitforme/kit";
import { BLACK, setLine, setText } from "@kitforme/prepress";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { textCard } from "../support/text-card.ts";

const font = (file: string): Slot["fonts"][number] => ({
  file,
  bytes: new Uint8Array(readFileSync(new URL(`../../fixtures/fonts/${file}`, import.meta.url))),
});
const LORA = font("Lora-Bold.ttf");
const HEBREW = font("Assistant-Regular.ttf");
const ARABIC = font("NotoSansArabic-Regular.ttf");

const ring = ({ x, y, width, height }: Rect) => [
  { x, y },
  { x: x + width, y },
  { x: x + width, y: y + height },
  { x, y: y + height },
];
const box = (x: number, y: number, width: number, height: number): Rect => ({
  x: mm(x),
  y: mm(y),
  width: mm(width),
  height: mm(height),
});
const SHEET = ring(box(0, 0, 120, 60));
const piece = (lines: Piece["lines"] = []): Piece => textCard(120, 60, lines);
const slot = (more: Partial<Slot> = {}): Slot => ({
  kind: "text",
  slot: "boat",
  box: box(10, 20, 100, 20),
  fonts: [LORA],
  size: 24,
  leastSize: 8,
  align: "left",
  colour: "#000000",
  safe: mm(2),
  ...more,
});
const set = (text: string, more: Partial<Slot> = {}, on = piece()) => setText(slot(more), text, on, BLACK);
const rules = async (text: string, more: Partial<Slot> = {}, on = piece()): Promise<string[]> =>
  (await set(text, more, on)).findings.map((f) => `${f.level} ${f.rule}`);
const hash = (outlines: string | undefined): string =>
  createHash("sha256")
    .update(outlines ?? "")
    .digest("hex")
    .slice(0, 16);

describe("scripts", () => {
  // Looked at once, rendered, against the letters a reader of each script expects; the hashes guard what was seen.
  it.each([
    ["Latin", "Solveig fjord", [LORA], "1ea4e7d3f789a768"],
    ["Greek", "Ελένη", [], "0c878b9a92686e34"],
    ["Cyrillic", "Юлия", [], "72bd7d81dfe184dd"],
    ["Hebrew, mixed with Latin and digits", "שלום Noa 123 (א)", [HEBREW], "3c542429852d44a7"],
    ["Arabic, with vowel signs and a ligature", "مُحَمَّد لا", [ARABIC], "75ea8ed11bf91cb7"],
    ["Vietnamese, stacked marks", "Nguyễn Thị Ế", [], "eac8f3c714d8b624"],
  ])("draws %s", async (_, text, fonts, golden) => {
    const { value, findings } = await set(text, { fonts });
    expect(findings).toEqual([]);
    expect(value?.outlines).toMatch(/^M [\d.MLCQZ -]+ Z$/);
    expect(hash(value?.outlines)).toBe(golden);
  });

  it("joins Arabic letters: a word differs from its letters kept apart by non-joiners", async () => {
    const joined = await set("محمد", { fonts: [ARABIC] });
    const apart = await set("م\u200cح\u200cم\u200cد", { fonts: [ARABIC] });
    expect(joined.value?.text.length).toBe(4);
    expect(apart.findings).toEqual([]);
    expect(joined.value?.outlines).not.toBe(apart.value?.outlines);
    // Kept apart, both letters م have their isolated form; joined, the first is initial and the third medial.
    const widths = [joined, apart].map((t) => Math.round(t.value?.box.width ?? 0));
    expect(widths[0]).not.toBe(widths[1]);
  });

  it("runs Hebrew from right to left: what is first in memory stands last on the line", async () => {
    const outlines = async (text: string) => (await set(text, { fonts: [HEBREW] })).value?.outlines ?? "";
    const [mixed, latin, hebrew] = [await outlines("אi"), await outlines("i"), await outlines("א")];
    expect(mixed.startsWith(latin)).toBe(true);
    expect(mixed.startsWith(hebrew)).toBe(false);
    // Two Hebrew letters: the second stands at the left edge, where it stands alone.
    expect((await outlines("אב")).startsWith(await outlines("ב"))).toBe(true);
  });

  it("turns brackets round in a right-to-left text", async () => {
    const outlines = async (text: string) => (await set(text, { fonts: [HEBREW] })).value?.outlines ?? "";
    expect((await outlines("א)")).startsWith(await outlines("("))).toBe(true);
  });

  it.each(["é", "Å", "Ệ", "ё", "ΐ"])("sets %s the same composed and decomposed", async (letter) => {
    const composed = await set(letter.normalize("NFC"), { fonts: [] });
    const decomposed = await set(letter.normalize("NFD"), { fonts: [] });
    expect(decomposed.value?.outlines).toBe(composed.value?.outlines);
    expect(composed.value?.outlines.length).toBeGreaterThan(0);
  });

  it("kerns: AV is narrower than A and V side by side", () => {
    const width = (text: string): number => setLine(text, { size: 100 }).width;
    expect(width("AV")).toBeLessThan(width("A") + width("V") - fromPoints(1));
    expect(width("HH")).toBeCloseTo(2 * width("H"), 6);
  });

  it("falls back letter by letter, with a warning, and names the characters", async () => {
    const { value, findings } = await set("Aλ");
    expect(value).toBeDefined();
    expect(findings.map((f) => f.rule)).toEqual(["glyph-fallback"]);
    expect(findings[0]?.message).toContain("λ (U+03BB)");
  });

  it("takes the slot's second font without a word: it is there for that", async () => {
    const { value, findings } = await set("Noa نجمة", { fonts: [LORA, ARABIC] });
    expect(value?.outlines.length).toBeGreaterThan(100);
    expect(findings).toEqual([]);
  });

  it("keeps the bundled font first where only fallbacks are given: they serve the letters it lacks", async () => {
    const plain = await set("Noa", { fonts: [] });
    const [first, own] = [
      await set("Noa", { fonts: [LORA, ARABIC], bundledFirst: true }),
      await set("Noa", { fonts: [LORA, ARABIC] }),
    ];
    const letters = (d = ""): string => d.replace(/-?[\d.]+/g, "").replaceAll(" ", "");
    expect(letters(first.value?.outlines)).toBe(letters(plain.value?.outlines));
    expect(letters(first.value?.outlines)).not.toBe(letters(own.value?.outlines));
    const mixed = await set("Noa نجمة", { fonts: [LORA, ARABIC], bundledFirst: true });
    expect(mixed.findings).toEqual([]);
    expect(mixed.value?.outlines.length).toBeGreaterThan(first.value?.outlines.length ?? 0);
  });

  it("refuses what no font has, naming every character", async () => {
    const { value, findings } = await set("日本 ⛵");
    expect(value).toBeUndefined();
    expect(findings.map((f) => f.rule)).toEqual(["glyph-missing"]);
    for (const name of ["U+65E5", "U+672C", "U+26F5"]) expect(findings[0]?.message).toContain(name);
  });
});

describe("fit", () => {
  it("keeps the size where there is room", async () => {
    expect((await set("Aino")).value?.size).toBe(24);
  });

  it("never lets ink leave the box, never exceeds size, never falls below leastSize, never grows with the text", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.stringMatching(/^[A-Za-zÅÄÖåäöÉgjy]{1,24}$/),
        fc.constantFrom<Slot["align"]>("left", "centre", "right"),
        fc.integer({ min: 20, max: 100 }),
        async (text, align, width) => {
          const room = box(10, 20, width, 12);
          const { value } = await set(text, { align, box: room });
          const longer = await set(`${text}w`, { align, box: room });
          if (!value) return expect(longer.value).toBeUndefined();
          expect(value.size).toBeLessThanOrEqual(24);
          expect(value.size).toBeGreaterThanOrEqual(8);
          expect(value.box.x).toBeGreaterThanOrEqual(room.x - 1e-6);
          expect(value.box.x + value.box.width).toBeLessThanOrEqual(room.x + room.width + 1e-6);
          expect(value.box.y).toBeGreaterThanOrEqual(room.y - 1e-6);
          expect(value.box.y + value.box.height).toBeLessThanOrEqual(room.y + room.height + 1e-6);
          expect(longer.value?.size ?? 0).toBeLessThanOrEqual(value.size);
        },
      ),
      { seed: 20261204, numRuns: 120 },
    );
  });

  it("shrinks no further than needed: a quarter point more would not fit", async () => {
    const room = box(10, 20, 40, 20);
    const { value } = await set("Ingeborg Marie", { box: room });
    const size = value?.size ?? 0;
    expect(size).toBeLessThan(24);
    expect(size % 0.25).toBe(0);
    expect(((value?.box.width ?? 0) * (size + 0.3)) / size).toBeGreaterThan(room.width - fromPoints(1));
  });

  it("says by how much a text is too long and what would do", async () => {
    const { value, findings } = await set("Nebuchadnezzar the Second", { box: box(10, 20, 30, 20), leastSize: 12 });
    expect(value).toBeUndefined();
    expect(findings.map((f) => f.rule)).toEqual(["text-too-long"]);
    const [, needed, over] = /is ([\d.]+) mm long.*: ([\d.]+) mm more/.exec(findings[0]?.message ?? "") ?? [];
    expect(Number(needed) - Number(over)).toBeCloseTo(30, 0);
    const enough = Number(/shrink to ([\d.]+) pt/.exec(findings[0]?.hint ?? "")?.[1]);
    const again = await set("Nebuchadnezzar the Second", { box: box(10, 20, 30, 20), leastSize: enough });
    expect(again.value?.size).toBe(enough);
  });

  it("says so when a text is too high", async () => {
    expect(await rules("Åg", { box: box(10, 20, 100, 3), leastSize: 10 })).toEqual(["error text-too-high"]);
  });

  it("puts names with and without descenders on one baseline", async () => {
    const bottom = async (text: string): Promise<number> => {
      const { value } = await set(text, { align: "centre" });
      return (value?.box.y ?? 0) + (value?.box.height ?? 0);
    };
    // H and I stand on the baseline in both; the g of the second hangs below it by the same as alone.
    expect(await bottom("HI")).toBeCloseTo(await bottom("IH"), 6);
    const outlines = async (text: string) => (await set(text, { align: "left" })).value?.outlines ?? "";
    expect((await outlines("Hg")).startsWith(await outlines("H"))).toBe(true);
  });

  it.each(["left", "centre", "right"] as const)("aligns %s", async (align) => {
    const { value } = await set("HOH", { align });
    const before = (value?.box.x ?? 0) - mm(10);
    const after = mm(110) - (value?.box.x ?? 0) - (value?.box.width ?? 0);
    // Side bearings of the outer letters stay: less than a millimetre at 24 pt.
    if (align === "left") expect(before).toBeLessThan(mm(1));
    if (align === "right") expect(after).toBeLessThan(mm(1));
    if (align === "centre") expect(Math.abs(before - after)).toBeLessThan(mm(1));
  });
});

describe("lines of the piece", () => {
  const crease = (x: number): Piece["lines"][number] => ({
    operation: "creasing",
    closed: false,
    points: [
      { x: mm(x), y: 0 },
      { x: mm(x), y: mm(60) },
    ],
  });

  it("shrinks a text until it is clear of a crease", async () => {
    const free = await set("Solveig", { align: "left" });
    const right = ((free.value?.box.x ?? 0) + (free.value?.box.width ?? 0)) / 1000;
    const { value, findings } = await set("Solveig", { align: "left" }, piece([crease(right + 1)]));
    expect(findings).toEqual([]);
    expect(value?.size).toBeLessThan(24);
    expect((value?.box.x ?? 0) + (value?.box.width ?? 0)).toBeLessThanOrEqual(mm(right + 1 - 2) + 1);
  });

  it("is content when the ink is just as far as asked", async () => {
    const free = await set("HH", { align: "left" });
    const right = ((free.value?.box.x ?? 0) + (free.value?.box.width ?? 0)) / 1000;
    const { value } = await set("HH", { align: "left" }, piece([crease(right + 2.001)]));
    expect(value?.size).toBe(24);
  });

  it("gives the distance in millimetres when no size is clear", async () => {
    const { value, findings } = await set(
      "H",
      { align: "left", box: box(10, 20, 100, 20), leastSize: 24 },
      piece([crease(9.5)]),
    );
    expect(value).toBeUndefined();
    expect(findings.map((f) => f.rule)).toEqual(["text-near-line"]);
    // The stem of H stands a side bearing inside the box: Lora Bold has 31 units of 1000, so 0.26 mm at 24 pt.
    const free = (await set("H", { align: "left", leastSize: 24 })).value?.box.x ?? 0;
    expect(findings[0]?.message).toContain(`${((free - mm(9.5)) / 1000).toFixed(2)} mm of a creasing line`);
  });

  it("says so when a line runs through the text", async () => {
    const { findings } = await set("Solveig", { align: "left" }, piece([crease(11)]));
    expect(findings[0]?.message).toContain("is crossed by a creasing line");
  });

  it("meets a short line that lies wholly inside a stroke", async () => {
    const { value } = await set("I", { align: "left", leastSize: 24 });
    const [x, y] = [
      (value?.box.x ?? 0) + (value?.box.width ?? 0) / 2,
      (value?.box.y ?? 0) + (value?.box.height ?? 0) / 2,
    ];
    const nick = { operation: "cutting" as const, closed: false, points: [point(x, y), point(x + 10, y)] };
    expect(await rules("I", { align: "left", leastSize: 24 }, piece([nick]))).toEqual(["error text-near-line"]);
  });

  it("refuses a box beside the piece and one over an opening", async () => {
    expect(await rules("Aino", { box: box(130, 20, 50, 20) })).toEqual(["error text-off-piece"]);
    const open = piece();
    const window = { ...open, parts: [{ outer: SHEET, openings: [ring(box(5, 10, 110, 40))] }] };
    expect(await rules("Aino", {}, window)).toEqual(["error text-off-piece"]);
  });
});

const point = (x: number, y: number) => ({ x: Math.round(x), y: Math.round(y) });

describe("what is written", () => {
  it("makes nothing of an empty text", async () => {
    expect(await set("")).toEqual({ findings: [] });
    expect(await set("  \n ")).toEqual({ findings: [] });
  });

  it("takes out overrides and other steering characters, and says so", async () => {
    const { value, findings } = await set("No\u202ea\u0007");
    expect(value?.text).toBe("Noa");
    expect(findings.map((f) => f.rule)).toEqual(["text-cleaned"]);
    expect(findings[0]?.message).toContain("U+0007, U+202E");
    expect(value?.outlines).toBe((await set("Noa")).value?.outlines);
  });

  it("makes one line of several", async () => {
    expect((await set("Ada\r\nLove")).value?.outlines).toBe((await set("Ada Love")).value?.outlines);
  });

  it("refuses half a surrogate pair", async () => {
    expect(await rules("Ada\ud83d")).toEqual(["error text-damaged"]);
  });
});

describe("setLine", () => {
  it("stands on the origin, y up, and moves with `at`", () => {
    const { outlines, width, ascent, descent } = setLine("H", { size: 10 });
    const numbers = [...outlines.matchAll(/-?[\d.]+/g)].map(Number);
    expect(Math.min(...numbers)).toBe(0);
    expect(Math.max(...numbers)).toBeCloseTo(fromPoints(7.14), 0);
    expect(width).toBeGreaterThan(0);
    expect(ascent + descent).toBeCloseTo(fromPoints(13.62), 3);
    const moved = [...setLine("H", { size: 10, at: [1000, 2000] }).outlines.matchAll(/-?[\d.]+/g)].map(Number);
    expect(
      moved.map((v, i) => v - (numbers[i] as number) - (i % 2 === 0 ? 1000 : 2000)).every((d) => Math.abs(d) < 0.11),
    ).toBe(true);
  });

  it("aligns about the origin", () => {
    const xs = (align: "left" | "centre" | "right") =>
      [...setLine("HOH", { size: 10, align }).outlines.matchAll(/[ML] (-?[\d.]+)/g)].map((m) => Number(m[1]));
    expect(Math.min(...xs("left"))).toBeGreaterThan(0);
    expect(Math.max(...xs("right"))).toBeLessThan(0);
    expect(Math.abs(Math.min(...xs("centre")) + Math.max(...xs("centre")))).toBeLessThan(10);
  });

  it("shows a sign for what the bundled font lacks, and never fails", () => {
    expect(setLine("中", { size: 10 }).outlines).toBe(setLine("\ufffd", { size: 10 }).outlines);
    expect(setLine("", { size: 10 })).toMatchObject({ outlines: "", width: 0 });
  });
});
