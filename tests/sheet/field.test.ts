import { bounds, contourOf, mm, outlinesDistance, overlapOf, type Rect } from "@kitforme/geometry";
import { fieldOf } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { CUTTER, PRESS, SRA3, stockOf } from "./make.ts";

describe("the field of a printed sheet", () => {
  const field = fieldOf(stockOf(), SRA3);

  it("prints inside the press's margins", () => {
    expect(field.bounds).toEqual({ x: mm(5), y: mm(8), width: mm(310), height: mm(437) });
    expect(field).toMatchObject({ width: mm(320), height: mm(450), clearance: mm(1) });
  });

  it("loses no room to the marks that the bleed would not take anyway", () => {
    // Cuts may come as near to the printable edge as a bleed of 3 mm lets them.
    expect(field.coreBounds).toEqual({ x: mm(8), y: mm(10.5), width: mm(304), height: mm(431.5) });
  });

  it("keeps pieces from marks, code and slug, and these from each other", () => {
    expect(field.keepOuts).toHaveLength(7);
    const boxes = field.keepOuts.map((ring) => bounds(ring));
    for (const [i, a] of boxes.entries())
      for (const b of boxes.slice(i + 1)) {
        const both = overlapOf(a, b);
        expect((both?.width ?? 0) * (both?.height ?? 0)).toBe(0);
      }
  });

  it("spends one strip of less than 8 mm on code and slug", () => {
    const strip = field.keepOuts.map((ring) => bounds(ring)).filter((box) => box.y < mm(20));
    expect(strip).toHaveLength(5);
    for (const box of strip) expect(box.y + box.height).toBeLessThan(field.bounds.y + mm(8));
    const taken = strip.reduce((sum, box) => sum + box.width * box.height, 0);
    expect(taken).toBeLessThan(0.01 * SRA3.width * SRA3.height);
  });

  it("is the same for every job", () => {
    expect(fieldOf(stockOf(), SRA3)).toEqual(field);
  });

  it("runs the grain along the longer side unless the stock is short grain", () => {
    const lying = { width: SRA3.height, height: SRA3.width };
    expect(field.axis).toBe("y");
    expect(fieldOf(stockOf(), lying).axis).toBe("x");
    expect(fieldOf(stockOf({ grain: "short" }), SRA3).axis).toBe("x");
    expect(fieldOf(stockOf({ grain: "short" }), lying).axis).toBe("y");
    expect("axis" in fieldOf(stockOf(), { width: mm(300), height: mm(300) })).toBe(false);
  });
});

describe("other fields", () => {
  it("gives an unprinted sheet whole, as far as the cutter reaches", () => {
    const field = fieldOf(stockOf({ press: null }), SRA3);
    expect(field.keepOuts).toEqual([]);
    expect(field.bounds).toEqual({ x: 0, y: 0, ...SRA3 });
    expect(field.coreBounds).toEqual({ x: mm(5), y: mm(5), width: mm(310), height: mm(440) });
  });

  it.each([150, 300, 600, 1200, 2400])(
    "keeps code and slug printable at %i dpi and on a sheet as small as A6",
    (resolution) => {
      const size = { width: mm(105), height: mm(148) };
      const press = { ...PRESS, resolution };
      const field = fieldOf(stockOf({ press }), size);
      const boxes = field.keepOuts.map((ring) => bounds(ring));
      const sheet: Rect = { x: 0, y: 0, ...size };
      for (const box of boxes) expect(overlapOf(box, sheet)).toEqual(box);
      for (const [i, a] of boxes.entries())
        for (const b of boxes.slice(i + 1))
          expect((overlapOf(a, b)?.width ?? 0) * (overlapOf(a, b)?.height ?? 0)).toBe(0);
    },
  );

  it("puts code and slug below the marks' own height where only the cutter is narrow", () => {
    const cutter = { ...CUTTER, margins: { ...CUTTER.margins, bottom: mm(30) } };
    const field = fieldOf(stockOf({ cutter }), SRA3);
    const lowest = Math.min(...field.keepOuts.map((ring) => bounds(ring).y));
    expect(lowest).toBeLessThan(mm(9));
    expect(field.coreBounds.y).toBeGreaterThan(mm(30));
    const free = { outer: contourOf({ x: mm(150), y: mm(40), width: mm(20), height: mm(20) }), openings: [] };
    expect(
      outlinesDistance(
        [free],
        field.keepOuts.map((outer) => ({ outer, openings: [] })),
      ),
    ).toBeGreaterThan(mm(1));
  });
});
