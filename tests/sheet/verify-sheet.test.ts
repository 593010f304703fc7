import { mm, outlinesOf } from "@kitforme/geometry";
import { fieldOf, impose, type Sheet, type SheetLine, verifySheet } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { cut, formeOf, PRESS, pieceOf, rectangle, SRA3, stockOf, stroke } from "./make.ts";

const LINES = [cut(rectangle(0, 0, 60, 40)), cut(rectangle(5, 5, 20, 20)), stroke("creasing", [30, 0], [30, 40])];
const BLEED = outlinesOf([rectangle(-3, -3, 66, 46), rectangle(8, 8, 14, 14)]);
const WALL = pieceOf(LINES, BLEED);
const imposed = (at: readonly [number, number], stock = stockOf()): Promise<Sheet> =>
  impose(formeOf([{ prepared: WALL, at }]), "7ZK3M0QXW2AB", stock, ["HL-2041"]);

/** What is said about a sheet at which something is wrong. */
const breach = async (spoil: (sheet: Sheet) => Sheet, at: readonly [number, number] = [100, 200]): Promise<string> => {
  const sheet = spoil(await imposed(at));
  try {
    verifySheet(sheet);
  } catch (error) {
    return String(error);
  }
  return "valid";
};
const asIs = (sheet: Sheet): Sheet => sheet;
const withLines = (change: (lines: readonly SheetLine[]) => readonly SheetLine[]) => (sheet: Sheet) => ({
  ...sheet,
  lines: change(sheet.lines),
});

describe("verifySheet", () => {
  it("passes sheets that are valid, printed or not, with pieces or none", async () => {
    expect(await breach(asIs)).toBe("valid");
    verifySheet(await imposed([100, 200], stockOf({ press: null })));
    verifySheet(await impose(formeOf([]), "7ZK3M0QXW2AB", stockOf(), []));
  });

  it("passes a piece in every corner that the field allows", async () => {
    const { bounds: print, coreBounds: span } = fieldOf(stockOf(), SRA3);
    const clear = 7.001;
    // Beside each corner mark: the bleed at the free zone's edge, cuts at the mark's centre line.
    const lefts = [print.x / 1000 + 0.5 + clear + 3, (span.x + span.width) / 1000 - 4.5 - 63.001];
    const tops = [print.y / 1000 + 11 + 43, (span.y + span.height) / 1000 - 0.5];
    for (const x of lefts) for (const y of tops) verifySheet(await imposed([x, y]));
  });

  it("passes creases and slits that end 0.1 mm beyond an outline at the edge of the field, and no more", async () => {
    const { coreBounds } = fieldOf(stockOf({ press: null }), SRA3);
    const at = [coreBounds.x / 1000, 200] as const;
    for (const [by, passes] of [
      [0.1, true],
      [0.2, false],
    ] as const)
      for (const operation of ["creasing", "cutting"] as const) {
        const prepared = pieceOf([cut(rectangle(0, 0, 60, 40)), stroke(operation, [-by, 20], [30, 20])]);
        const sheet = await impose(formeOf([{ prepared, at }]), "7ZK3M0QXW2AB", stockOf({ press: null }), []);
        if (passes) verifySheet(sheet);
        else expect(() => verifySheet(sheet)).toThrow("out of the marks or the cutter's reach");
      }
  });

  it.each([
    ["bleed beyond what the press prints", [5, 200], "bleed of piece 1 lies out of reach"],
    ["a cut outside the rectangle of the marks", [7, 200], "cutting line of piece 1 runs out of the marks"],
    ["bleed on the free zone of a mark", [11, 439], "covers the free zone of mark 4"],
    ["bleed on the code", [20, 55], "covers ink 1"],
    ["bleed on the slug", [150, 54], "covers ink 2"],
  ] as const)("names %s", async (_, at, words) => {
    expect(await breach(asIs, at)).toContain(words);
  });

  it("names marks that a half turn brings onto themselves", async () => {
    expect(await breach((s) => ({ ...s, marks: s.marks.slice(0, 4) }))).toContain("the same after a half turn");
    expect(await breach((s) => ({ ...s, marks: s.marks.slice(0, 3) }))).toContain("only 3 marks");
    const middle = { x: mm(160), y: mm(10.5) };
    const mirrored = await breach((s) => ({
      ...s,
      marks: [...s.marks.slice(0, 4), { at: middle, shape: "disc", size: mm(5) }],
    }));
    expect(mirrored).toContain("a mirror from left to right");
    expect(mirrored).not.toContain("a half turn");
  });

  it("names a mark that the press cannot print", async () => {
    const stock = stockOf({ press: { ...PRESS, margins: { ...PRESS.margins, top: mm(30) } } });
    expect(await breach((s) => ({ ...s, stock }))).toContain("mark 3 lies out of reach");
  });

  it("names a contour that is not the drawing's, by as little as a micrometre", async () => {
    const nudged = withLines((lines) =>
      lines.map((line, i) =>
        i === 1 ? { ...line, points: line.points.map((p, j) => (j === 2 ? { x: p.x + 1, y: p.y } : p)) } : line,
      ),
    );
    expect(await breach(nudged)).toContain("cutting line of piece 1 is not the drawing's");
  });

  it("names lines that are left out, worked twice, or given another operation", async () => {
    expect(await breach(withLines((lines) => lines.slice(1)))).toContain("1 lines of the drawings are not worked");
    expect(await breach(withLines((lines) => [lines[0] as SheetLine, ...lines]))).toContain("is not the drawing's");
    expect(await breach(withLines((lines) => lines.map((l) => ({ ...l, operation: "cutting" }))))).toContain(
      "is not the drawing's",
    );
  });

  it("does not mind where a contour starts nor which way it is followed", async () => {
    const turned = withLines((lines) =>
      lines.map((line) =>
        line.closed
          ? { ...line, points: [...line.points.slice(2), ...line.points.slice(0, 2)].toReversed() }
          : { ...line, points: line.points.toReversed() },
      ),
    );
    expect(await breach(turned)).toBe("valid");
  });

  it("names work in the wrong order", async () => {
    expect(await breach(withLines((lines) => lines.toReversed()))).toContain("operations are out of order");
    const outlineFirst = withLines(([crease, opening, outline]) => [crease, outline, opening] as SheetLine[]);
    expect(await breach(outlineFirst)).toContain("comes after the contour around it");
  });

  it("names a placement that scales or is not turned as it says", async () => {
    const placed =
      (change: (m: readonly number[]) => readonly number[], turn = 0) =>
      (s: Sheet) => ({
        ...s,
        placed: s.placed.map((p) => ({ ...p, turn, matrix: change(p.matrix) as unknown as typeof p.matrix })),
      });
    const scaled = placed(([a = 0, b = 0, c = 0, d = 0, e = 0, f = 0]) => [a * 1.001, b, c, d * 1.001, e, f]);
    expect(await breach(scaled)).toContain("not placed by its turn alone");
    expect(await breach(placed((m) => m, 90))).toContain("not placed by its turn alone");
  });

  it("names ink on a sheet that is not printed", async () => {
    const stock = stockOf({ press: null });
    const message = await breach((s) => ({ ...s, stock }));
    expect(message).toContain("marks on a sheet that is not printed");
    expect(message).toContain("ink on a sheet that is not printed");
  });
});
