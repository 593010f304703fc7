import { containsRect, type Point, type Rect, type Um, mm } from "@kitforme/geometry";
import type { Stock } from "@kitforme/kit";
import { fieldOf, type Mark, marksOf, sheetFaults } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { CUTTER, PRESS, SRA3, stockOf } from "./make.ts";

// ISO 216 and ISO 217 tables, as given in XJDF 2.2, appendix C; the last ones are common press sheets (common practice, no source).
const SIZES: readonly [name: string, width: number, height: number][] = [
  ["A1", 594, 841],
  ["A2", 420, 594],
  ["A3", 297, 420],
  ["A4", 210, 297],
  ["A5", 148, 210],
  ["B1", 707, 1000],
  ["B2", 500, 707],
  ["B3", 353, 500],
  ["B4", 250, 353],
  ["RA1", 610, 860],
  ["RA2", 430, 610],
  ["RA3", 305, 430],
  ["RA4", 215, 305],
  ["SRA1", 640, 900],
  ["SRA2", 450, 640],
  ["SRA3", 320, 450],
  ["SRA4", 225, 320],
  ["13 x 19 in", 330.2, 482.6],
  ["330 x 488", 330, 488],
  ["330 x 660", 330, 660],
];
const BOTH_WAYS = SIZES.flatMap(([name, w, h]): [string, number, number][] => [
  [name, w, h],
  [`${name} lying`, h, w],
]);
const SHAPES: readonly Stock["cutter"]["marks"][] = [
  { shape: "disc", size: mm(5), clear: mm(2), along: mm(0) },
  { shape: "square", size: mm(6), clear: mm(3), along: mm(0) },
  { shape: "cross", size: mm(10), clear: mm(0), along: mm(0) },
];
const withMarks = (marks: Stock["cutter"]["marks"]): Stock => stockOf({ cutter: { ...CUTTER, marks } });
const box = ({ at, size }: Mark, more = 0): Rect => ({
  x: at.x - size / 2 - more,
  y: at.y - size / 2 - more,
  width: size + 2 * more,
  height: size + 2 * more,
});
const inner = (width: Um, height: Um, m: Stock["cutter"]["margins"]): Rect => ({
  x: m.left,
  y: m.bottom,
  width: width - m.left - m.right,
  height: height - m.top - m.bottom,
});

describe.each(BOTH_WAYS)("marks on %s", (_, wide, high) => {
  const size = { width: mm(wide), height: mm(high) };

  it.each(SHAPES)("are at least four, where press and cutter reach: $shape", (kind) => {
    const stock = withMarks(kind);
    const marks = marksOf(stock, size);
    expect(marks.length).toBeGreaterThanOrEqual(4);
    for (const mark of marks) {
      expect(mark).toMatchObject({ shape: kind.shape, size: kind.size });
      expect(containsRect(inner(size.width, size.height, PRESS.margins), box(mark))).toBe(true);
      expect(containsRect(inner(size.width, size.height, CUTTER.margins), box(mark))).toBe(true);
    }
    expect(sheetFaults({ ...stock, sheets: [size] })).toEqual([]);
  });

  it("have free zones that neither meet each other nor leave the sheet", () => {
    const stock = withMarks(SHAPES[1] as (typeof SHAPES)[number]);
    const boxes = marksOf(stock, size).map((mark) => box(mark, stock.cutter.marks.clear));
    for (const [i, a] of boxes.entries()) {
      expect(containsRect({ x: 0, y: 0, ...size }, a)).toBe(true);
      for (const b of boxes.slice(i + 1))
        expect(a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y).toBe(
          true,
        );
    }
  });

  it.each([0, 1, 2, 3, 6])("keep clear of code, slug and each other, with %i more along the long edges", (along) => {
    for (const kind of SHAPES) {
      const stock = { ...withMarks({ ...kind, along }), sheets: [size] };
      if (sheetFaults(stock).length > 0) continue;
      const boxes = fieldOf(stock, size).keepOuts.map((ring): Rect => {
        const [xs, ys] = [ring.map((p) => p.x), ring.map((p) => p.y)];
        const [x, y] = [Math.min(...xs), Math.min(...ys)];
        return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
      });
      expect(boxes.length).toBeGreaterThanOrEqual(7 + 2 * along);
      for (const [i, a] of boxes.entries())
        for (const b of boxes.slice(i + 1)) {
          const apart = [a.x + a.width <= b.x, b.x + b.width <= a.x, a.y + a.height <= b.y, b.y + b.height <= a.y];
          expect(apart, JSON.stringify([kind, a, b])).toContain(true);
        }
    }
  });

  // Acceptance of a sheet: a camera looks for each mark within some millimetres of its place; a wrong way round must miss one.
  it("are not where they were after a half turn of the sheet, nor of the pattern, nor mirrored", () => {
    const marks = marksOf(stockOf(), size).map((m) => m.at);
    const left = Math.min(...marks.map((p) => p.x)) + Math.max(...marks.map((p) => p.x));
    const low = Math.min(...marks.map((p) => p.y)) + Math.max(...marks.map((p) => p.y));
    const images: ((p: Point) => Point)[] = [
      (p) => ({ x: size.width - p.x, y: size.height - p.y }),
      (p) => ({ x: left - p.x, y: low - p.y }),
      (p) => ({ x: left - p.x, y: p.y }),
      (p) => ({ x: p.x, y: low - p.y }),
    ];
    for (const image of images) {
      const misses = marks.map((p) => {
        const q = image(p);
        return Math.min(...marks.map((m) => Math.hypot(m.x - q.x, m.y - q.y)));
      });
      expect(Math.max(...misses)).toBeGreaterThan(mm(20));
    }
  });

  it("tell where the sheet lies: three of them are in no line", () => {
    const [a, b, c] = marksOf(stockOf(), size).map((m) => m.at) as [Point, Point, Point];
    expect(Math.abs((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x))).toBeGreaterThan(mm(50) ** 2);
  });

  it("span the rectangle that cuts are allowed in", () => {
    const field = fieldOf(stockOf(), size);
    const marks = marksOf(stockOf(), size);
    const xs = marks.map(({ at }) => at.x);
    const ys = marks.map(({ at }) => at.y);
    const span = { x: Math.min(...xs), y: Math.min(...ys) };
    expect(
      containsRect({ ...span, width: Math.max(...xs) - span.x, height: Math.max(...ys) - span.y }, field.coreBounds),
    ).toBe(true);
    expect(containsRect(inner(size.width, size.height, CUTTER.margins), field.coreBounds)).toBe(true);
  });
});

describe("odd machines", () => {
  it("keeps marks within the cutter's reach where that is the narrower one", () => {
    const cutter = { ...CUTTER, margins: { top: mm(30), right: mm(20), bottom: mm(25), left: mm(15) } };
    for (const mark of marksOf(stockOf({ cutter }), SRA3))
      expect(containsRect(inner(SRA3.width, SRA3.height, cutter.margins), box(mark))).toBe(true);
  });

  it("leaves the cutter the press's register to follow", () => {
    const press = { ...PRESS, margins: { top: 0, right: 0, bottom: 0, left: 0 }, register: mm(2) };
    const reach = inner(SRA3.width, SRA3.height, CUTTER.margins);
    for (const { at } of marksOf(stockOf({ press }), SRA3))
      for (const by of [-mm(2), mm(2)])
        expect(containsRect(reach, box({ at: { x: at.x + by, y: at.y + by }, shape: "disc", size: mm(5) }))).toBe(true);
  });

  it("prints none on stock that is not printed", () => {
    expect(marksOf(stockOf({ press: null }), SRA3)).toEqual([]);
  });

  it("says when a sheet is too small for its marks, with both sizes", () => {
    const faults = sheetFaults(stockOf({ sheets: [SRA3, { width: mm(40), height: mm(60) }] }));
    expect(faults.map((f) => [f.level, f.rule, f.where])).toEqual([["error", "sheet-too-small", { stock: "card" }]]);
    expect(faults[0]?.message).toContain("40 x 60 mm");
    expect(faults[0]?.message).toMatch(/the marks and the code between them need 38\.\d+ x 18 mm/);
  });
});
