import { mm, outlinesOf, placeOutlines, outlinesBounds } from "@kitforme/geometry";
import { bothSides, fieldOf, impose, type Sheet, sheetFaults, turnOver, verifySheet } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { cut, formeOf, PRESS, pieceOf, rectangle, SRA3, stockOf } from "./make.ts";

const plain = pieceOf([cut(rectangle(0, 0, 60, 40))], outlinesOf([rectangle(-3, -3, 66, 46)]));
const backed = { ...plain, piece: { ...plain.piece, back: { artwork: null } }, back: { layers: [], bleed: null } };
const margins = { top: mm(5), right: mm(5), bottom: mm(8), left: mm(14) };
const stock = (turn: "long" | "short") => stockOf({ press: { ...PRESS, margins, sides: 2, turn } });
const imposed = (
  turn: "long" | "short",
  prepared: typeof plain = backed,
  at: readonly [number, number] = [100, 200],
): Promise<Sheet> => impose(formeOf([{ prepared, at }]), "7ZK3M0QXW2AB", bothSides(stock(turn), SRA3), ["HL-2041"]);
const breach = (sheet: Sheet): string => {
  try {
    verifySheet(sheet);
  } catch (error) {
    return String(error);
  }
  return "valid";
};

describe("a sheet with a back", () => {
  it("is turned over its longer or its shorter edge, however it lies", () => {
    const lying = { width: SRA3.height, height: SRA3.width };
    expect(turnOver({ turn: "long" }, SRA3)).toEqual([-1, 0, 0, 1, SRA3.width, 0]);
    expect(turnOver({}, SRA3)).toEqual(turnOver({ turn: "long" }, SRA3));
    expect(turnOver({ turn: "short" }, SRA3)).toEqual([1, 0, 0, -1, 0, SRA3.height]);
    expect(turnOver({ turn: "long" }, lying)).toEqual([1, 0, 0, -1, 0, lying.height]);
    expect(turnOver({ turn: "short" }, lying)).toEqual([-1, 0, 0, 1, lying.width, 0]);
  });

  it("prints only where the press reaches on both sides", () => {
    const print = (turn: "long" | "short") => fieldOf(bothSides(stock(turn), SRA3), SRA3).bounds;
    expect(print("long")).toEqual({ x: mm(14), y: mm(8), width: SRA3.width - mm(28), height: SRA3.height - mm(13) });
    expect(print("short")).toEqual({ x: mm(14), y: mm(8), width: SRA3.width - mm(19), height: SRA3.height - mm(16) });
    expect(sheetFaults(stock("long"))).toEqual([]);
  });

  it.each(["long", "short"] as const)(
    "has code, slug and targets behind those of the front (%s edge)",
    async (turn) => {
      const sheet = await imposed(turn);
      verifySheet(sheet);
      expect(sheet.slug).toContain("front");
      expect(sheet.back?.slug).toContain("back");
      // Code, slug, and a target for each mark.
      expect(sheet.back?.inks).toHaveLength(2 + sheet.marks.length);
      // Readable, so drawn anew: no mirror image of the front's.
      expect(sheet.back?.inks[0]?.outlines).not.toBe(sheet.inks[0]?.outlines);
    },
  );

  it("is proven like the front: what lies elsewhere, out of reach or under a bleed is named", async () => {
    const sheet = await imposed("long");
    const { back } = sheet;
    if (!back) throw new Error("no back");
    const { back: _back, ...without } = sheet;
    expect(breach(without)).toContain("the back of piece 1 is printed nowhere");
    expect(breach({ ...sheet, back: { ...back, matrix: [1, 0, 0, 1, 0, 0] } })).toContain("no mirror image");
    const ink = (x: number, y: number) => {
      const [l, b, r, t] = [x, y, x + 5, y + 5].map(mm);
      return {
        ...back.inks[0],
        outlines: `M ${l} ${b} L ${r} ${b} L ${r} ${t} L ${l} ${t} Z`,
      } as (typeof back.inks)[0];
    };
    expect(breach({ ...sheet, back: { ...back, inks: [ink(2, 200)] } })).toContain(
      "ink 1 of the back lies out of reach",
    );
    // The piece's place as it is seen from behind.
    const { x, width } = outlinesBounds(sheet.placed.flatMap((p) => placeOutlines(p.matrix, p.prepared.reach)));
    const behind = (SRA3.width - x - width / 2) / 1000;
    expect(breach({ ...sheet, back: { ...back, inks: [ink(behind, 180)] } })).toContain("covers ink 1 of the back");
  });

  it("is one of the sheets that have a back only where a piece has", async () => {
    const sheet = await imposed("long", plain);
    expect(sheet.back).toBeUndefined();
    expect(sheet.slug).not.toContain("front");
  });
});
