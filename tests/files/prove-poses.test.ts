// Pieces are squares of one colour with a bleed of 3 mm, so that every pose's limit follows from where they lie.
import { proveSheet, References, type SheetProof } from "@kitforme/files";
import { mm } from "@kitforme/geometry";
import type { PreparedPiece } from "@kitforme/prepress";
import type { Sheet } from "@kitforme/sheet";
import { beforeAll, describe, expect, it } from "vitest";
import { made, written } from "../support/proven.ts";
import { drawn, painted, piece, rect, words } from "../support/sheets.ts";

const SIDE = 20;
const flat = painted("flat", "cmyk", [16, 16], () => [200, 120, 30, 0]);
const square: PreparedPiece = (() => {
  const outer = drawn([0, SIDE], [SIDE, SIDE], [SIDE, 0], [0, 0]);
  const reach = [{ outer: drawn([-3, SIDE + 3], [SIDE + 3, SIDE + 3], [SIDE + 3, -3], [-3, -3]), openings: [] }];
  return {
    piece: piece(
      "square",
      [SIDE, SIDE],
      [{ outer, openings: [] }],
      [{ operation: "cutting", closed: true, points: outer }],
    ),
    reach,
    layers: [{ kind: "raster", raster: flat, box: rect(-3, -3, SIDE + 6, SIDE + 6), clip: reach.map((r) => r.outer) }],
    bleed: { wanted: mm(3), least: mm(3), own: 0, made: 0 },
  };
})();

const proofOf = async (sheet: Sheet): Promise<SheetProof> => {
  const { proof, faults } = await proveSheet(sheet, await written(sheet), "full", new References());
  expect(faults).toEqual([]);
  return proof;
};
/** A pixel, and what directions between the looked-at ones leave open. */
const near = (um: number | undefined, millimetres: number): void => {
  expect(um).toBeGreaterThan(1000 * millimetres - 350);
  expect(um).toBeLessThan(1000 * millimetres + 350);
};

// 210 x 150 mm: its middle is at 105, 75, its corner 129 mm away.
const CORNER = Math.hypot(105, 75);

describe("the poses that a print is tried in, one at a time", () => {
  let middle: SheetProof;
  let right: SheetProof;
  beforeAll(async () => {
    middle = await proofOf(await made([{ prepared: square, at: [95, 85] }]));
    right = await proofOf(await made([{ prepared: square, at: [170, 85] }]));
  });

  it("shift: paper shows when it is moved by the bleed, wherever the piece lies", () => {
    near(middle.within?.shift, 3);
    near(right.within?.shift, 3);
    near(middle.worst.paper, 3);
  });

  it("turn: in the middle of the sheet corners move least, at its right end the edge of the piece does", () => {
    // A square of 20 mm about the middle: its cut moves square to itself by at most 10/129 of what the sheet's corner does.
    near(middle.within?.turn && middle.within.turn / (CORNER / 10), 3);
    // Upper and lower cut of a square from 65 to 85 mm right of the middle: up and down by 85/129.
    near(right.within?.turn && right.within.turn / (CORNER / 85), 3);
  });

  it("stretch: across the sheet the outer cut moves by its share of the half width", () => {
    near(middle.within?.stretch && middle.within.stretch / 7.5, 3);
    near(right.within?.stretch && right.within.stretch / (105 / 85), 3);
  });

  it("hold for texts too: letters are touched before paper shows", async () => {
    const x = await proofOf(await made([{ prepared: square, at: [170, 85], texts: [words("l", 1.2, 12, 12)] }]));
    const text = x.worst.text ?? 0;
    // The letter stands 1.2 mm and its own side from the left cut.
    expect(text).toBeGreaterThan(1100);
    expect(text).toBeLessThan(1900);
    near(x.within?.shift, text / 1000);
    // The cut there is 65 mm right of the middle; a stretch of the whole width moves the letter towards it by 66/105.
    near(x.within?.stretch, (text / 1000) * (105 / 66.5));
    expect(x.worst.paper).toBeGreaterThan(2600);
  });

  it("keep a sheet back whose print shows paper within what both machines may be off", async () => {
    const outer = square.piece.parts.map((p) => p.outer);
    const bare = { ...square, layers: square.layers.map((l) => ({ ...l, clip: outer })) };
    const sheet = await made([{ prepared: bare, at: [170, 85] }]);
    const { faults } = await proveSheet(sheet, await written(sheet), "full", new References());
    const [fault] = faults.filter(({ check }) => check === "paper");
    expect(fault?.what).toMatch(
      /paper would show beyond 0\.\d mm .* \(a shift by 0\.\d mm, a turn by 0\.\d mm, a stretch by 0\.\d mm\)/,
    );
    expect(fault?.at?.x).toBeGreaterThan(mm(169));
    expect(fault?.at?.x).toBeLessThan(mm(191));
  });
});
