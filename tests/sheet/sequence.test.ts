import { area, bounds, containsPoint, containsRect, lengthOf, mm, outlinesOf, type Point } from "@kitforme/geometry";
import { OPERATIONS } from "@kitforme/kit";
import { impose, SameCuts, type Sheet, type SheetLine, verifySheet } from "@kitforme/sheet";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { circle, cut, formeOf, pieceOf, rectangle, stockOf, stroke } from "./make.ts";

const HOUSE = pieceOf([
  cut(rectangle(0, 0, 60, 40)),
  cut(rectangle(5, 5, 20, 20)),
  cut(circle(45, 15, 8)),
  // An island in the opening, and a hole in the island: four contours deep.
  cut(rectangle(9, 9, 10, 10)),
  cut(circle(14, 14, 2)),
  stroke("cutting", [30, 30], [30, 40]),
  stroke("partialCutting", [2, 2], [2, 38]),
  stroke("perforating", [58, 2], [58, 38]),
  stroke("creasing", [28, 0], [28, 40]),
  stroke("creasing", [0, 30], [28, 30]),
]);
const WINDOW = pieceOf([cut(rectangle(0, 0, 120, 100)), cut(rectangle(10, 10, 100, 80))], undefined, "frame");
const TAG = pieceOf([cut(circle(10, 10, 10)), cut(circle(10, 4, 2))], undefined, "tag");

const sheetOf = (pieces: Parameters<typeof formeOf>[0]): Promise<Sheet> =>
  impose(formeOf(pieces), "7ZK3M0QXW2AB", stockOf(), ["HL-2041"]);

const insideOf = (line: SheetLine, ring: SheetLine): boolean =>
  ring.closed &&
  ring !== line &&
  containsRect(bounds(ring.points), bounds(line.points)) &&
  (!line.closed || Math.abs(area(line.points)) < Math.abs(area(ring.points))) &&
  line.points.some((p) => containsPoint(ring.points, p) > 0);

// Creases and perforations before any cut, partial before through cuts, inner contours before those around them
// (common practice, no source; the first two are in the contract of the cut files).
const expectInOrder = ({ lines }: Sheet): void => {
  const ranks = lines.map(({ operation }) => OPERATIONS.indexOf(operation));
  expect(ranks).toEqual(ranks.toSorted((a, b) => a - b));
  const cuts = lines.filter(({ operation }) => operation === "cutting");
  for (const [i, ring] of cuts.entries())
    for (const later of cuts.slice(i + 1)) expect(insideOf(later, ring)).toBe(false);
};

describe("sheets that are cut alike", () => {
  it("have one set of lines, and those that are not have their own", async () => {
    const same = new SameCuts();
    const stock = stockOf();
    const at = (x: number, sheet: number): Promise<Sheet> =>
      impose(formeOf([{ prepared: HOUSE, at: [x, 200] }], { sheet }), "7ZK3M0QXW2AB", stock, ["HL-2041"], same);
    const [first, second, third] = [await at(30, 1), await at(30, 2), await at(31, 3)];
    expect(second.lines).toBe(first.lines);
    expect(second.marks).toBe(first.marks);
    expect(second.code).not.toBe(first.code);
    expect(third.lines).not.toBe(first.lines);
    for (const sheet of [second, third])
      expect(sheet.lines).toEqual((await sheetOf([{ prepared: HOUSE, at: [sheet === third ? 31 : 30, 200] }])).lines);
  });
});

describe("working order", () => {
  it("lets each of two pieces lie in an opening of the other, and cuts what lies inside first", async () => {
    const frame = (x: number, y: number) => [cut(rectangle(x, y, 60, 60)), cut(rectangle(x + 5, y + 5, 50, 50))];
    const both = pieceOf([...frame(0, 0), cut(rectangle(100, 20, 20, 20))]);
    const sheet = await sheetOf([
      { prepared: both, at: [30, 300] },
      { prepared: both, turn: 180, at: [180, 230] },
    ]);
    expect(sheet.lines).toHaveLength(6);
    verifySheet(sheet);
    expectInOrder(sheet);
  });

  // Inner contours before those around them (common practice, no source).
  it.each([
    ["a cut from edge to edge", stroke("cutting", [0, 20], [60, 20])],
    ["a cut from corner to corner", stroke("cutting", [0, 0], [60, 40])],
    [
      "an opening with all its corners on the outline",
      cut(
        [
          [30, 0],
          [60, 20],
          [30, 40],
          [0, 20],
        ].map(([x = 0, y = 0]) => ({ x: mm(x), y: mm(y) })),
      ),
    ],
  ] as const)("puts %s before the outline, at any turn, and the proof sees it put after", async (_, line) => {
    const prepared = pieceOf([cut(rectangle(0, 0, 60, 40)), line]);
    for (const turn of [0, 90, 33, 270]) {
      const sheet = await impose(formeOf([{ prepared, turn, at: [140, 200] }]), "7ZK3M0QXW2AB", stockOf(), []);
      const [first, outline] = sheet.lines;
      expect(lengthOf(first?.points ?? [])).toBeLessThan(lengthOf(outline?.points ?? []));
      verifySheet(sheet);
      expect(() => verifySheet({ ...sheet, lines: sheet.lines.toReversed() })).toThrow("after the contour around it");
    }
  });

  it("goes operation by operation, and from the innermost contour outwards", async () => {
    const sheet = await sheetOf([{ prepared: HOUSE, at: [30, 200] }]);
    expect(sheet.lines.map(({ operation }) => operation)).toEqual([
      "creasing",
      "creasing",
      "perforating",
      "partialCutting",
      ...Array.from({ length: 6 }, () => "cutting"),
    ]);
    expectInOrder(sheet);
    const areas = sheet.lines.filter((l) => l.operation === "cutting" && l.closed).map((l) => Math.abs(area(l.points)));
    expect(Math.round((areas.at(-1) ?? 0) / 1e6)).toBe(60 * 40);
    expect((areas[0] ?? 0) / 1e6).toBeCloseTo(Math.PI * 4, 0);
    verifySheet(sheet);
  });

  it("cuts a slit that ends on the outline before the outline", async () => {
    const sheet = await sheetOf([{ prepared: HOUSE, at: [30, 200] }]);
    const cuts = sheet.lines.filter((l) => l.operation === "cutting");
    expect(cuts.findIndex((l) => !l.closed)).toBeLessThan(cuts.length - 1);
    expect(cuts.at(-1)?.closed).toBe(true);
  });

  it("cuts a piece laid into another's opening before that opening, whichever comes first on the forme", async () => {
    const frame = { prepared: WINDOW, at: [20, 200] as const };
    const tags = [0, 1, 2].map((i) => ({ prepared: TAG, at: [45 + 25 * i, 160] as const }));
    for (const pieces of [
      [frame, ...tags],
      [...tags, frame],
    ]) {
      const sheet = await sheetOf(pieces);
      expectInOrder(sheet);
      const frameNumber = pieces.indexOf(frame) + 1;
      expect(sheet.lines.slice(-2).map((l) => l.placed)).toEqual([frameNumber, frameNumber]);
      verifySheet(sheet);
    }
  });

  it("keeps its order for any mixture of pieces at any turn", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.array(
          fc.record({
            prepared: fc.constantFrom(HOUSE, WINDOW, TAG),
            turn: fc.constantFrom(0, 90, 180, 270, 33),
            // Places on a lattice that keeps the pieces apart; out of the marks, which the order does not ask about.
            column: fc.integer({ min: 0, max: 9 }),
          }),
          { minLength: 1, maxLength: 12 },
        ),
        async (pieces) => {
          const sheet = await sheetOf(
            pieces.map(({ prepared, turn, column }, i) => ({ prepared, turn, at: [200 * column, 200 * i] as const })),
          );
          expectInOrder(sheet);
          expect(sheet.lines).toHaveLength(pieces.reduce((n, p) => n + p.prepared.piece.lines.length, 0));
        },
      ),
      { seed: 20261204, numRuns: 40 },
    );
  });

  it("goes to the nearest piece, not through the list: no more than half the way of a bad list", async () => {
    const places = [0, 7, 1, 6, 2, 5, 3, 4].map((i) => [20 + 30 * i, 100] as const);
    const sheet = await sheetOf(places.map((at) => ({ prepared: TAG, at })));
    const travel = (stops: readonly Point[]): number => lengthOf([{ x: 0, y: 0 }, ...stops]);
    const way = travel(sheet.lines.map((l) => l.points[0] as Point));
    const listed = travel(places.map(([x, y]) => ({ x: mm(x), y: mm(y) })));
    expect(way).toBeLessThan(0.5 * listed);
    expect([...new Set(sheet.lines.map((l) => l.placed))]).toEqual([1, 3, 5, 7, 8, 6, 4, 2]);
  });

  it("takes an open line from its nearer end", async () => {
    const creased = (from: readonly [number, number], to: readonly [number, number]) =>
      pieceOf([cut(rectangle(0, 0, 60, 40)), stroke("creasing", from, to)]);
    const there = await sheetOf([{ prepared: creased([0, 20], [60, 20]), at: [30, 200] }]);
    const back = await sheetOf([{ prepared: creased([60, 20], [0, 20]), at: [30, 200] }]);
    expect(back.lines[0]).toEqual(there.lines[0]);
    expect(there.lines[0]?.points[0]?.x).toBe(mm(30));
  });
});

describe("where a contour starts", () => {
  const startOf = async (ring: ReturnType<typeof rectangle>): Promise<Point | undefined> =>
    (await sheetOf([{ prepared: pieceOf([cut(ring)]), at: [30, 200] }])).lines[0]?.points[0];

  it("is the leftmost corner, the lower of two, wherever the drawing began", async () => {
    const ring = rectangle(0, 0, 60, 40);
    for (let i = 0; i < 4; i++)
      expect(await startOf([...ring.slice(i), ...ring.slice(0, i)])).toEqual({ x: mm(30), y: mm(160) });
  });

  it("is a corner rather than a place on a curve that lies further left", async () => {
    // A half disc, round to the left: its corners are at the ends of the straight side.
    const half = Array.from({ length: 65 }, (_, i) => ({
      x: mm(20 - 20 * Math.sin((Math.PI * i) / 64)),
      y: mm(20 - 20 * Math.cos((Math.PI * i) / 64)),
    }));
    expect(await startOf(half)).toEqual({ x: mm(50), y: mm(160) });
  });

  it("is the beginning of the longest straight run where there is no corner", async () => {
    const arc = (cx: number, from: number) =>
      Array.from({ length: 33 }, (_, i) => ({
        x: mm(cx + 10 * Math.cos(from + (Math.PI * i) / 32)),
        y: mm(10 + 10 * Math.sin(from + (Math.PI * i) / 32)),
      }));
    const stadium = [...arc(50, -Math.PI / 2), ...arc(10, Math.PI / 2)];
    const start = await startOf(stadium);
    expect([mm(40), mm(80)]).toContain(start?.x);
    expect([mm(200), mm(180)]).toContain(start?.y);
  });
});

describe("figures of a sheet", () => {
  it("gives the area inside the outlines less openings over the sheet's", async () => {
    const sheet = await sheetOf([{ prepared: WINDOW, at: [20, 200] }]);
    expect(sheet.yield).toBeCloseTo((120 * 100 - 100 * 80) / (320 * 450), 12);
  });

  it("counts the way under the blade, creases and perforations not among it", async () => {
    const sheet = await sheetOf([
      {
        prepared: pieceOf([
          cut(rectangle(0, 0, 60, 40)),
          stroke("cutting", [10, 10], [20, 10]),
          stroke("partialCutting", [10, 20], [10, 25], [15, 25]),
          stroke("creasing", [0, 30], [60, 30]),
          stroke("perforating", [0, 35], [60, 35]),
        ]),
        at: [20, 200],
      },
    ]);
    expect(sheet.cutLength).toBe(200 + 10 + 10);
  });

  it("places every point of the drawing once, without rounding it again", async () => {
    const ring = circle(31.3337, 17.7771, 12.345, 200);
    const prepared = pieceOf([cut(ring)]);
    const sheet = await sheetOf([{ prepared, turn: 33, at: [100, 200] }]);
    const [a, b, c, d, e, f] = sheet.placed[0]?.matrix ?? [0, 0, 0, 0, 0, 0];
    expect(a * d - b * c).toBeCloseTo(-1, 12);
    const wanted = outlinesOf([ring])[0]?.outer.map((p) => [a * p.x + c * p.y + e, b * p.x + d * p.y + f]) ?? [];
    const points = sheet.lines[0]?.points ?? [];
    expect(points).toHaveLength(200);
    for (const p of points)
      expect(
        Math.min(...wanted.map(([x = 0, y = 0]) => Math.max(Math.abs(x - p.x), Math.abs(y - p.y)))),
      ).toBeLessThanOrEqual(0.5);
  });
});
