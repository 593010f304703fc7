// What a knife would do wrong on a sheet without a word: said for every sheet that it is true of.
import { mm } from "@kitforme/geometry";
import type { Cutter } from "@kitforme/kit";
import { impose } from "@kitforme/sheet";
import { describe, expect, it } from "vitest";
import { bladeUnaligned } from "../../packages/run/src/blade-unaligned.ts";
import { cutsShared } from "../../packages/run/src/cuts-shared.ts";
import { CUTTER, cut, formeOf, pieceOf, rectangle, stockOf } from "../sheet/make.ts";

const TILE = pieceOf([cut(rectangle(0, 0, 60, 40))]);
const SHEET = pieceOf([cut(rectangle(0, 0, 309, 439))]);
const bare = (more: Partial<Cutter>) => stockOf({ press: null, cutter: { ...CUTTER, ...more } });
const blade = bare({ path: { ...CUTTER.path, bladeOffset: mm(0.25) } });
const made = (prepared: typeof TILE, at: readonly (readonly [number, number])[], stock = bare({}), sheet = 1) =>
  impose(
    formeOf(
      at.map((one) => ({ prepared, at: one })),
      { sheet, of: 2 },
    ),
    "7ZK3M0QXW2AB",
    stock,
    [],
  );

describe("pieces that are cut on one line (a blade that goes twice tears the card: common practice, no source)", () => {
  it.each([
    [60, "neighbouring pieces touch"],
    [60.1, "lie 0.1 mm apart"],
  ])("%f mm from corner to corner is said", async (step, words) => {
    const stock = bare({ bareClearance: 0 });
    const sheets = [
      await made(TILE, [[20, 200]], stock),
      await made(
        TILE,
        [
          [20, 200],
          [20 + step, 200],
        ],
        stock,
        2,
      ),
    ];
    expect(cutsShared(sheets)).toMatchObject([
      {
        rule: "cuts-shared",
        level: "warning",
        where: { stock: "card", sheet: 2 },
        message: expect.stringContaining(words),
      },
    ]);
  });
  it("is not where they keep their distance, or the shop asks for enough", async () => {
    expect(
      cutsShared([
        await made(
          TILE,
          [
            [20, 200],
            [80.3, 200],
          ],
          bare({ bareClearance: 0 }),
        ),
      ]),
    ).toEqual([]);
    expect(
      cutsShared([
        await made(TILE, [
          [20, 200],
          [81, 200],
        ]),
      ]),
    ).toEqual([]);
  });
});

describe("a trailing blade that nothing brings into line", () => {
  it("is said of the sheets whose waste has no room for it, and of no other", async () => {
    const full = await made(SHEET, [[5.5, 444.5]], blade);
    const roomy = await made(TILE, [[20, 200]], blade, 2);
    expect(full.paths.some(({ placed }) => placed === 0)).toBe(false);
    expect(roomy.paths.some(({ placed }) => placed === 0)).toBe(true);
    expect(bladeUnaligned([full, roomy])).toMatchObject([
      {
        rule: "blade-unaligned",
        level: "warning",
        where: { sheet: 1 },
        message: expect.stringContaining("0.5 mm off"),
      },
    ]);
    expect(bladeUnaligned([roomy])).toEqual([]);
    expect(bladeUnaligned([await made(SHEET, [[5.5, 444.5]])])).toEqual([]);
  });
});
