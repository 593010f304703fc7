// Worst case: the plain sum. Likely: the root of the sum of squares (common practice for independent errors, no source).
import { mm } from "@kitforme/geometry";
import { statementOf } from "@kitforme/prepress";
import { describe, expect, it } from "vitest";

const piece = (name: string, least: number, away?: number) => ({
  kit: "lantern",
  piece: name,
  bleed: { wanted: mm(3), least: mm(least), own: 0, made: 1 },
  ...(away === undefined ? {} : { away: mm(away) }),
});

describe("tolerance statement", () => {
  it("adds register and cutter, plainly and as squares", () => {
    const { pieces, paper } = statementOf({ register: mm(0.6), cutter: mm(0.8), pieces: [piece("wall", 3)] });
    expect(paper).toBe("never");
    expect(pieces).toEqual([
      {
        kit: "lantern",
        piece: "wall",
        bleed: 3000,
        worst: 1400,
        likely: 1000,
        spareWorst: 1600,
        spareLikely: 2000,
        paper: "never",
      },
    ]);
  });

  it.each([
    [1.4, "never"],
    [1.399, "worst"],
    [1, "worst"],
    [0.999, "likely"],
  ] as const)("with %f mm of bleed paper shows: %s", (least, paper) => {
    const statement = statementOf({
      register: mm(0.6),
      cutter: mm(0.8),
      pieces: [piece("wall", 3), piece("roof", least)],
    });
    expect(statement.paper).toBe(paper);
    expect(statement.pieces[0]).toMatchObject({ piece: "roof", paper });
    expect(statement.words).toContain(`"roof" of "lantern" (${least.toFixed(2)} mm of bleed)`);
    expect(statement.words).toContain("1.40 mm");
  });

  it("counts the stretch of the paper by how far a piece lies from the middle", () => {
    const { pieces } = statementOf({
      register: mm(0.3),
      cutter: mm(0.4),
      stretch: 0.002,
      pieces: [piece("near", 1, 0), piece("far", 1, 250)],
    });
    expect(pieces.map((p) => [p.piece, p.worst, p.likely])).toEqual([
      ["far", 1200, 708],
      ["near", 700, 500],
    ]);
    expect(pieces.map((p) => p.paper)).toEqual(["worst", "never"]);
  });

  it("names every piece once, by the copy with the least to spare, and forgets unprinted ones", () => {
    const { pieces } = statementOf({
      register: mm(0.5),
      cutter: mm(1),
      pieces: [piece("a", 2), piece("a", 1.2), { kit: "lantern", piece: "insert", bleed: null }],
    });
    expect(pieces.map((p) => [p.piece, p.bleed])).toEqual([["a", 1200]]);
  });

  it("says so when nothing is printed", () => {
    expect(statementOf({ register: 0, cutter: 0, pieces: [] })).toMatchObject({
      paper: "never",
      pieces: [],
      words: "Nothing is printed on this sheet: no paper can show.",
    });
  });
});
