// Kit pieces drawn from a seed: box nets, wheels, panels, stars, with three millimetres of bleed; for tests and benches.
import { type Contour, grow, mm, type Outline } from "@kitforme/geometry";
import type { Field, Footprint } from "@kitforme/nest";
import { disc, type Draw, draws, rectangle } from "../../nest/drawn.ts";

const ring = (points: readonly (readonly [number, number])[]): Contour =>
  points.map(([x, y]) => ({ x: mm(x), y: mm(y) }));

/** A box l x w x h (millimetres) laid flat: four walls in a row with lid, floor and their flaps, and a glue flap. */
const net = (l: number, w: number, h: number): Outline[] => {
  const f = Math.min(14, w / 2);
  const a = l;
  const b = l + w;
  const c = 2 * l + w;
  const d = 2 * l + 2 * w;
  return [
    {
      outer: ring([
        [0, 0],
        [0, -w],
        [3, -w - f],
        [a - 3, -w - f],
        [a, -w],
        [a, 0],
        [a + 3, -f],
        [b - 3, -f],
        [b, 0],
        [c, 0],
        [c + 3, -f],
        [d - 3, -f],
        [d, 0],
        [d + 9, 6],
        [d + 9, h - 6],
        [d, h],
        [d - 3, h + f],
        [c + 3, h + f],
        [c, h],
        [c, h + w],
        [c - 3, h + w + f],
        [b + 3, h + w + f],
        [b, h + w],
        [b, h],
        [b - 3, h + f],
        [a + 3, h + f],
        [a, h],
        [0, h],
      ]),
      openings: [],
    },
  ];
};

/** A toothed wheel with spokes: openings large enough to take small pieces on the large ones. */
const wheel = (radius: number, teeth: number): Outline[] => {
  const outer = Array.from({ length: 4 * teeth }, (_, k) => {
    const angle = ((k + 0.5) / (4 * teeth)) * 2 * Math.PI;
    const r = k % 4 < 2 ? radius : radius - 5;
    return [r * Math.cos(angle), r * Math.sin(angle)] as const;
  });
  const opening = radius > 38 ? [disc(36, mm(radius - 16)).toReversed()] : [disc(20, mm(6)).toReversed()];
  return [{ outer: ring(outer), openings: opening }];
};

/** A panel with an arched top and a foot to slot it in. */
const panel = (width: number, height: number): Outline[] => {
  const arch = Array.from({ length: 13 }, (_, k) => {
    const angle = (k / 12) * Math.PI;
    return [width / 2 + (width / 2) * Math.cos(angle), height + 0.35 * width * Math.sin(angle)] as const;
  });
  return [
    {
      outer: ring([
        [0, 0],
        [width * 0.3, 0],
        [width * 0.3, -8],
        [width * 0.7, -8],
        [width * 0.7, 0],
        [width, 0],
        ...arch,
      ]),
      openings: [],
    },
  ];
};

const star = (points: number, outer: number, inner: number): Outline[] => [
  {
    outer: ring(
      Array.from({ length: 2 * points }, (_, k) => {
        const angle = (k / (2 * points)) * 2 * Math.PI;
        const r = k % 2 === 0 ? outer : inner;
        return [r * Math.cos(angle), r * Math.sin(angle)] as const;
      }),
    ),
    openings: [],
  },
];

const any = (draw: Draw, sort: number): Outline[] => {
  if (sort === 0) return net(30 + 30 * draw(), 18 + 22 * draw(), 40 + 60 * draw());
  if (sort === 1) return wheel(18 + 40 * draw(), 10 + Math.floor(10 * draw()));
  if (sort === 2) return panel(35 + 60 * draw(), 40 + 80 * draw());
  const r = 22 + 38 * draw();
  return star(5 + Math.floor(4 * draw()), r, r * (0.4 + 0.2 * draw()));
};

const BLEED = mm(3);

/** So many kinds of pieces, box nets, wheels, panels and stars by turns; `shape` is what is printed, three millimetres beyond `core`. */
export const kitPieces = (kinds: number, seed: number): Footprint[] => {
  const draw = draws(seed);
  const names = ["net", "wheel", "panel", "star"];
  return Array.from({ length: kinds }, (_, k) => {
    const trim = any(draw, k % 4);
    return { id: `${names[k % 4]} ${k}`, shape: grow(trim, BLEED), core: trim, turns: [0, 90, 180, 270] };
  });
};

/** How often each kind is wanted: `pieces` in all, at least one each. */
export const kitCopies = (kinds: number, pieces: number, seed: number): number[] => {
  const draw = draws(seed + 99);
  const copies = Array.from({ length: kinds }, () => 1);
  for (let n = kinds; n < pieces; n++) {
    const k = Math.floor(draw() * kinds);
    copies[k] = (copies[k] as number) + 1;
  }
  return copies;
};

/** The same pieces as their bounding boxes, what a layout by rectangles would have to keep free. */
export const boxed = (footprints: readonly Footprint[]): Footprint[] =>
  footprints.map((f) => {
    const xs = f.shape.flatMap((o) => o.outer.map((p) => p.x));
    const ys = f.shape.flatMap((o) => o.outer.map((p) => p.y));
    const [x, y] = [Math.min(...xs), Math.min(...ys)];
    const outer = rectangle(Math.max(...xs) - x, Math.max(...ys) - y, x, y);
    return { ...f, shape: [{ outer, openings: [] }], core: [{ outer, openings: [] }] };
  });

/** A sheet of 320 x 450 mm with five millimetres that the press does not reach, and four marks with their clear zones. */
export const kitSheet = (): Field => {
  const print = { x: mm(5), y: mm(5), width: mm(310), height: mm(440) };
  const marks = [
    [10, 10],
    [310, 10],
    [10, 440],
    [298, 440],
  ] as const;
  return {
    id: "320 x 450",
    width: mm(320),
    height: mm(450),
    bounds: print,
    coreBounds: { x: mm(8), y: mm(8), width: mm(304), height: mm(434) },
    keepOuts: marks.map(([x, y]) => rectangle(mm(9), mm(9), mm(x) - mm(4.5), mm(y) - mm(4.5))),
    clearance: mm(1),
  };
};
