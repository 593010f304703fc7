import { area, lengthOf, mm, type Path, perimeter, type Point, toMm } from "@kitforme/geometry";
import type { Cutter } from "@kitforme/kit";
import {
  impose,
  leaveTabs,
  shortenTravel,
  type Sheet,
  type SheetLine,
  type Stop,
  toolPaths,
  travelOf,
  verifySheet,
  workOf,
} from "@kitforme/sheet";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { referenceTravel } from "../support/travel-reference.ts";
import { circle, CUTTER, cut, formeOf, pieceOf, rectangle, stockOf, stroke } from "./make.ts";

const cutterWith = (path: Partial<Cutter["path"]>, more: Partial<Cutter> = {}): Cutter => ({
  ...CUTTER,
  ...more,
  path: { ...CUTTER.path, ...path },
});
const closed = (points: Path<"sheet">): SheetLine => ({ operation: "cutting", closed: true, points, placed: 1 });
const square = (side: number): Path<"sheet"> =>
  (
    [
      [0, 0],
      [side, 0],
      [side, side],
      [0, side],
    ] as const
  ).map(([x, y]) => ({ x: mm(x), y: mm(y) }));

/** Millimetres from a place to a polyline. */
const toLine = (p: Point, line: Path, ring: boolean): number => {
  let best = Infinity;
  const ends = ring ? [...line, line[0] as Point] : line;
  for (let i = 1; i < ends.length; i++) {
    const [a, b] = [ends[i - 1] as Point, ends[i] as Point];
    const square = (b.x - a.x) ** 2 + (b.y - a.y) ** 2;
    const t =
      square === 0 ? 0 : Math.max(0, Math.min(1, ((p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y)) / square));
    best = Math.min(best, Math.hypot(p.x - a.x - t * (b.x - a.x), p.y - a.y - t * (b.y - a.y)));
  }
  return toMm(best);
};

/**
 * A trailing blade by its mechanics: a stiff lever of the offset's length whose tip only ever moves along itself (tractrix;
 * the textbook curve of pursuit). Steps of 5 µm. Where the blade points is carried from path to path.
 */
const trail = (paths: readonly Path[], offset: number, heading: number) => {
  let angle = heading;
  return paths.map((path) => {
    const axis = { ...(path[0] as Point) };
    const tip = { x: axis.x - offset * Math.cos(angle), y: axis.y - offset * Math.sin(angle) };
    const places = [{ ...tip }];
    for (let i = 1; i < path.length; i++) {
      const [a, b] = [path[i - 1] as Point, path[i] as Point];
      const steps = Math.max(1, Math.ceil(Math.hypot(b.x - a.x, b.y - a.y) / 5));
      for (let k = 1; k <= steps; k++) {
        axis.x = a.x + ((b.x - a.x) * k) / steps;
        axis.y = a.y + ((b.y - a.y) * k) / steps;
        angle = Math.atan2(axis.y - tip.y, axis.x - tip.x);
        tip.x = axis.x - offset * Math.cos(angle);
        tip.y = axis.y - offset * Math.sin(angle);
        // Kept 40 µm apart: what lies between is nearer than the tenth of a millimetre that is asked about.
        if (k % 8 === 0 || k === steps) places.push({ ...tip });
      }
    }
    return places;
  });
};

describe("a cutter that asks for nothing", () => {
  it("gets the lines as they are", () => {
    const lines = [closed(square(40))];
    expect(toolPaths(lines, CUTTER)).toEqual(lines.map((l) => ({ ...l, tool: "cutting" })));
  });
});

describe("overcut", () => {
  it("runs on past the closing point along the contour, round the next corner when that is near", () => {
    const [path] = toolPaths([closed(square(1))], cutterWith({ overcut: mm(1.5) }));
    expect(path?.closed).toBe(false);
    expect(path?.points.slice(-3)).toEqual([
      { x: 0, y: 0 },
      { x: mm(1), y: 0 },
      { x: mm(1), y: mm(0.5) },
    ]);
    expect(lengthOf(path?.points ?? [])).toBeCloseTo(mm(5.5), 3);
  });

  it("leaves creases and open cuts alone", () => {
    const lines: SheetLine[] = [
      { ...closed(square(10)), operation: "creasing" },
      { operation: "cutting", closed: false, points: square(20), placed: 1 },
    ];
    expect(toolPaths(lines, cutterWith({ overcut: mm(1) })).map((p) => p.points)).toEqual(lines.map((l) => l.points));
  });
});

describe("a trailing blade", () => {
  const wheel = circle(60, 60, 12, 160).map(({ x, y }): Point<"sheet"> => ({ x, y }));
  const star: Path<"sheet"> = Array.from({ length: 10 }, (_, i) => {
    const r = mm(i % 2 === 0 ? 20 : 8);
    return {
      x: mm(120) + Math.round(r * Math.cos((i * Math.PI) / 5)),
      y: mm(60) + Math.round(r * Math.sin((i * Math.PI) / 5)),
    };
  });
  const shapes: readonly Path<"sheet">[] = [square(40), wheel, star];

  // Drag knives: tip = axis - offset x heading, corners swung about the tip (common practice); checked by mechanics, 0.1 mm asked.
  it.each([0.1, 0.25, 0.5, 1])(
    "of %d mm keeps its tip within 0.1 mm of the designer's line, from any heading it was left with",
    (offset) => {
      const align: Path<"sheet"> = [
        { x: mm(200), y: mm(5) },
        { x: mm(200) + Math.max(mm(3), mm(8 * offset)), y: mm(5) },
      ];
      const paths = toolPaths(shapes.map(closed), cutterWith({ bladeOffset: mm(offset) }), align);
      expect(paths.map((p) => p.placed)).toEqual([0, 1, 1, 1]);
      for (const heading of [0, 2, 3.1, -1.5]) {
        const [, ...tips] = trail(
          paths.map((p) => p.points),
          mm(offset),
          heading,
        );
        tips.forEach((tip, i) => {
          const shape = shapes[i] as Path<"sheet">;
          for (const p of tip) expect(toLine(p, shape, true)).toBeLessThan(0.1);
          // Every corner and every stretch of the line is really cut.
          for (const p of shape) expect(toLine(p, tip, false)).toBeLessThan(0.1);
        });
      }
    },
  );

  it("closes its contours: the tip comes back over its own beginning by at least the offset", () => {
    const [path] = toolPaths([closed(square(40))], cutterWith({ bladeOffset: mm(0.5) }));
    const [tip] = trail([path?.points ?? []], mm(0.5), 0);
    expect(tip?.at(-1)?.x).toBeGreaterThanOrEqual(mm(0.49));
    expect(Math.abs(tip?.at(-1)?.y ?? 1e9)).toBeLessThan(20);
  });

  it("that nothing brought into line goes over its first beginning again, until it is: no corner stays uncut", () => {
    for (const offset of [0.25, 1]) {
      const [path, next] = toolPaths([closed(square(40)), closed(star)], cutterWith({ bladeOffset: mm(offset) }));
      for (const heading of [0.5, 2, 3.1, -1.5]) {
        const [first, second] = trail([path?.points ?? [], next?.points ?? []], mm(offset), heading);
        for (const p of square(40)) expect(toLine(p, first ?? [], false)).toBeLessThan(0.1);
        for (const p of second ?? []) expect(toLine(p, star, true)).toBeLessThan(0.1);
      }
    }
  });

  it("without this lead would round corners off: the simulation sees it (a check of the check)", () => {
    const [tip] = trail([[...square(40), { x: 0, y: 0 }]], mm(1), 0);
    expect(Math.max(...square(40).map((p) => toLine(p, tip ?? [], false)))).toBeGreaterThan(0.2);
  });

  it("is brought into line in the waste, off every piece, mark and code, and the sheet proves right", async () => {
    const stock = stockOf({ cutter: cutterWith({ bladeOffset: mm(0.3) }) });
    const prepared = pieceOf([cut(rectangle(0, 0, 60, 40)), cut(circle(45, 15, 8))]);
    const sheet = await impose(
      formeOf([
        { prepared, at: [40, 200] },
        { prepared, at: [130, 200] },
      ]),
      "7ZK3M0QXW2AB",
      stock,
      [],
    );
    verifySheet(sheet);
    const [first] = sheet.paths;
    expect(first?.placed).toBe(0);
    for (const { at, size } of sheet.marks)
      for (const p of first?.points ?? []) expect(Math.hypot(p.x - at.x, p.y - at.y)).toBeGreaterThan(size / 2 + mm(2));
  });
});

describe("tabs", () => {
  const outline = square(100);
  const tabbed = (line: SheetLine, creases: SheetLine[] = []) =>
    toolPaths([...creases, line], cutterWith({ tabs: { count: 3, length: mm(0.4) } })).filter(
      (p) => p.operation === "cutting",
    );

  const tabbedWith = (count: number, ring: Path<"sheet">) =>
    toolPaths([closed(ring)], cutterWith({ tabs: { count, length: mm(0.4) } }));

  it("leave exactly their length uncut: cuts and tabs together are the contour", () => {
    const cuts = tabbed(closed(outline));
    expect(cuts).toHaveLength(3);
    const sum = cuts.reduce((s, c) => s + lengthOf(c.points), 0);
    expect(sum + 3 * mm(0.4)).toBeCloseTo(perimeter(outline), -1);
  });

  it("stay 5 mm off corners and creases (contract)", () => {
    const crease: SheetLine = {
      operation: "creasing",
      closed: false,
      placed: 1,
      points: [
        { x: 0, y: mm(50) },
        { x: mm(100), y: mm(50) },
      ],
    };
    const cuts = tabbed(closed(outline), [crease]);
    const ends = cuts.flatMap((c) => [c.points[0] as Point, c.points.at(-1) as Point]);
    expect(ends).toHaveLength(6);
    for (const p of ends) {
      for (const corner of outline)
        expect(Math.hypot(p.x - corner.x, p.y - corner.y)).toBeGreaterThanOrEqual(mm(5) - 2);
      expect(toLine(p, crease.points, false)).toBeGreaterThanOrEqual(4.998);
    }
  });

  it("are as many and at the same places wherever the contour begins and however the piece is turned", () => {
    const wanted = { count: 4, length: mm(0.4) };
    const shape = [
      [0, 0],
      [90, 0],
      [90, 12],
      [40, 12],
      [31, 44],
      [0, 30],
    ].map(([x = 0, y = 0]) => ({ x: mm(x), y: mm(y) }));
    const places = (ring: readonly Point[], back: (p: Point) => Point): string[] => {
      const cuts = leaveTabs(ring as Path<"sheet">, [], wanted).cuts;
      return cuts.map((cut) => JSON.stringify(back(cut[0] as Point))).sort();
    };
    const whole = places(shape, (p) => p);
    expect(whole.length).toBeGreaterThan(2);
    for (let k = 1; k < shape.length; k++)
      expect(places([...shape.slice(k), ...shape.slice(0, k)], (p) => p)).toEqual(whole);
    const turned = shape.map(({ x, y }) => ({ x: -y, y: x }));
    expect(leaveTabs(turned as Path<"sheet">, [], wanted).tabs).toBe(whole.length);
  });

  // A fillet of 1 mm is a corner to whoever tears the piece out (common practice, no source).
  it("stay 5 mm off corners that are rounded or cut off, and are not driven away by a traced line's unevenness", () => {
    const fillet = (cx: number, cy: number, from: number): Point<"sheet">[] =>
      Array.from({ length: 9 }, (_, i) => {
        const angle = from + ((Math.PI / 2) * i) / 8;
        return { x: mm(cx + Math.cos(angle)), y: mm(cy + Math.sin(angle)) };
      });
    const middles = [
      [39, 39],
      [1, 39],
      [1, 1],
      [39, 1],
    ] as const;
    const rounded = middles.flatMap(([x, y], i) => fillet(x, y, (i * Math.PI) / 2));
    const ends = tabbedWith(8, rounded).flatMap((c) => [c.points[0] as Point, c.points.at(-1) as Point]);
    expect(ends.length).toBeGreaterThan(7);
    for (const p of ends)
      for (const [x, y] of middles) expect(Math.hypot(p.x - mm(x), p.y - mm(y))).toBeGreaterThanOrEqual(mm(4));
    const traced = Array.from({ length: 1600 }, (_, i): Point<"sheet"> => {
      const [r, angle] = [mm(30) + (i % 2) * 40, (2 * Math.PI * i) / 1600];
      return { x: Math.round(r * Math.cos(angle)), y: Math.round(r * Math.sin(angle)) };
    });
    expect(tabbedWith(4, traced)).toHaveLength(4);
  });

  it("stay 5 mm off the last side of a closed crease, off perforations and off slits", () => {
    const line = (operation: SheetLine["operation"], ring: boolean, ...points: [number, number][]): SheetLine => ({
      operation,
      closed: ring,
      placed: 1,
      points: points.map(([x, y]) => ({ x: mm(x), y: mm(y) })),
    });
    const beside = [
      line("creasing", true, [1, 80], [50, 80], [50, 20], [1, 20]),
      line("perforating", false, [99, 10], [99, 40]),
      line("cutting", false, [50, 0], [50, 20]),
    ];
    const cuts = toolPaths([...beside, closed(outline)], cutterWith({ tabs: { count: 12, length: mm(0.4) } }))
      .filter(({ operation }) => operation === "cutting")
      .slice(1);
    expect(cuts.length).toBeGreaterThan(4);
    for (const p of cuts.flatMap((c) => [c.points[0] as Point, c.points.at(-1) as Point]))
      for (const { points, closed: ring } of beside) expect(toLine(p, points, ring)).toBeGreaterThanOrEqual(4.998);
  });

  it("are not made in openings, nor where there is no room for one", () => {
    const opening = closed(outline.toReversed());
    expect(area(opening.points)).toBeLessThan(0);
    expect(tabbed(opening)).toHaveLength(1);
    expect(tabbed(opening)[0]?.closed).toBe(true);
    expect(tabbed(closed(square(9)))[0]?.closed).toBe(true);
  });
});

describe("an operation without a tool", () => {
  const { creasing: _, ...tools } = CUTTER.tools;
  const cutter = cutterWith({ dash: { creasing: [mm(0.5), mm(3)] } }, { tools });

  it("is made as interrupted cuts with the cutting tool, in its own place and layer", () => {
    const crease: SheetLine = {
      operation: "creasing",
      closed: false,
      placed: 1,
      points: [
        { x: 0, y: 0 },
        { x: mm(70), y: 0 },
      ],
    };
    const paths = toolPaths([crease], cutter);
    expect(paths.map((p) => [p.operation, p.tool])).toEqual(Array.from({ length: 20 }, () => ["creasing", "cutting"]));
    for (const p of paths) expect(lengthOf(p.points)).toBeCloseTo(mm(0.5), -1);
    // Half a gap at each end: no cut runs into what the crease ends on.
    expect(paths[0]?.points[0]).toEqual({ x: mm(1.5), y: 0 });
  });

  it("keeps the tool's own line where there is a tool", () => {
    const crease: SheetLine = {
      operation: "creasing",
      closed: false,
      placed: 1,
      points: [
        { x: 0, y: 0 },
        { x: mm(70), y: 0 },
      ],
    };
    expect(toolPaths([crease], cutterWith({ dash: { creasing: [500, 3000] } }))).toHaveLength(1);
  });
});

describe("what cutting takes", () => {
  it("counts millimetres, travel, lifts and seconds (by hand)", () => {
    const paths = toolPaths(
      [
        {
          operation: "creasing",
          closed: false,
          placed: 1,
          points: [
            { x: 0, y: 0 },
            { x: mm(30), y: 0 },
          ],
        },
        {
          operation: "creasing",
          closed: false,
          placed: 1,
          points: [
            { x: mm(30), y: 0 },
            { x: mm(30), y: mm(10) },
          ],
        },
        closed(square(40)),
      ],
      CUTTER,
    );
    const speed = { operations: { creasing: 20, cutting: 40 }, travel: 100, lift: 0.5 };
    const work = workOf(paths, { speed });
    const travel = Math.hypot(30, 10);
    expect(work).toMatchObject({ length: { creasing: 40, cutting: 160 }, lifts: 2 });
    expect(work.travel).toBeCloseTo(travel, 6);
    expect(work.seconds).toBeCloseTo(40 / 20 + 160 / 40 + travel / 100 + 2 * 0.5, 6);
    expect(workOf(paths, {}).seconds).toBeUndefined();
  });
});

describe("the way with the tool raised", () => {
  const contours = fc.array(
    fc.record({
      x: fc.integer({ min: 20_000, max: 300_000 }),
      y: fc.integer({ min: 20_000, max: 430_000 }),
      r: fc.integer({ min: 2000, max: 9000 }),
      n: fc.integer({ min: 4, max: 30 }),
    }),
    { minLength: 200, maxLength: 200 },
  );
  const stopsOf = (shapes: readonly { x: number; y: number; r: number; n: number }[]): Stop[] =>
    shapes.map(({ x, y, r, n }) => ({
      closed: true,
      after: [],
      entries: Array.from({ length: n }, (_, i) => ({
        x: Math.round(x + r * Math.cos((2 * Math.PI * i) / n)),
        y: Math.round(y + r * Math.sin((2 * Math.PI * i) / n)),
      })),
    }));

  it("is at most 1.05 of nearest neighbour and 2-opt with free starts on 200 random contours, in under 200 ms", () => {
    const ratios: number[] = [];
    let [spent, sheets] = [0, 0];
    fc.assert(
      fc.property(contours, (shapes) => {
        const stops = stopsOf(shapes);
        const before = process.cpuUsage();
        const tour = shortenTravel(stops, { x: 0, y: 0 });
        const { user, system } = process.cpuUsage(before);
        [spent, sheets] = [spent + (user + system) / 1000, sheets + 1];
        ratios.push(travelOf(stops, tour, { x: 0, y: 0 }) / referenceTravel(stops).travel);
      }),
      { seed: 12, numRuns: 6 },
    );
    expect(Math.max(...ratios)).toBeLessThanOrEqual(1.05);
    expect(spent / sheets).toBeLessThan(200);
  });

  it("never goes against what must come first", () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 60 }), fc.integer({ min: 1, max: 1e6 }), (n, seed) => {
        const random = (i: number): number => (Math.imul(i + 1, seed) >>> 8) % 300_000;
        const stops = Array.from(
          { length: n },
          (_, i): Stop => ({
            closed: i % 3 !== 0,
            entries: [
              { x: random(7 * i), y: random(7 * i + 1) },
              { x: random(7 * i + 2), y: random(7 * i + 3) },
            ],
            after: i > 0 && random(7 * i + 4) % 2 === 0 ? [random(7 * i + 5) % i] : [],
          }),
        );
        const tour = shortenTravel(stops, { x: 0, y: 0 });
        const turn = new Map(tour.map(({ stop }, i) => [stop, i]));
        expect(turn.size).toBe(n);
        stops.forEach(({ after }, i) => {
          for (const first of after) expect(turn.get(first) as number).toBeLessThan(turn.get(i) as number);
        });
      }),
      { seed: 3, numRuns: 200 },
    );
  });
});

it("follows outlines counter-clockwise and openings clockwise, at any turn", async () => {
  const prepared = pieceOf([
    cut(rectangle(0, 0, 60, 40)),
    cut(circle(45, 15, 8)),
    stroke("creasing", [20, 0], [20, 40]),
  ]);
  for (const turn of [0, 90, 33]) {
    const sheet: Sheet = await impose(formeOf([{ prepared, turn, at: [140, 200] }]), "7ZK3M0QXW2AB", stockOf(), []);
    const [opening, outline] = sheet.lines.filter((l) => l.operation === "cutting");
    expect(area(opening?.points ?? [])).toBeLessThan(0);
    expect(area(outline?.points ?? [])).toBeGreaterThan(0);
  }
});
