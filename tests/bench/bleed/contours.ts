// The three contours every figure is measured on, on a canvas of 203.2 x 254 mm: a box net of straight lines, a smooth blob,
// a traced outline with 0.5 mm of noise. Seeded; the same points on every machine.
import { type Contour, mm, type Outline, type Point, toMm } from "@kitforme/geometry";

export const CANVAS = { x: 0, y: 0, width: mm(203.2), height: mm(254) };
export const BLEED = mm(3);

/** Numbers from 0 to 1 (mulberry32). */
export const random = (seed: number): (() => number) => {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = s;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
};

const at = (x: number, y: number): Point<"drawing"> => ({ x: mm(x), y: mm(y) });

/** A closed curve around (x, y): radius in mm by angle. */
const around = (x: number, y: number, vertices: number, radius: (angle: number) => number): Contour<"drawing"> =>
  Array.from({ length: vertices }, (_, i) => {
    const angle = (2 * Math.PI * i) / vertices;
    const r = radius(angle);
    return at(x + r * Math.cos(angle), y + r * Math.sin(angle));
  });

const reversed = (contour: Contour<"drawing">): Contour<"drawing"> => [...contour].reverse();

/** A cross-shaped net with slanted, notched glue tabs on every free edge, a round and a square window. 1 m of cut line. */
const net = (): Outline<"drawing"> => {
  const outer: Point<"drawing">[] = [];
  const side = (x0: number, y0: number, x1: number, y1: number, tab: boolean): void => {
    outer.push(at(x0, y0));
    if (!tab) return;
    const long = Math.hypot(x1 - x0, y1 - y0);
    const [ux, uy] = [(x1 - x0) / long, (y1 - y0) / long];
    const go = (along: number, out: number): void => {
      outer.push(at(x0 + ux * along + uy * out, y0 + uy * along - ux * out));
    };
    // A tab of 9 mm in three teeth, corners rounded in short chords.
    const tooth = (long - 8) / 3;
    for (let t = 0; t < 3; t++) {
      const from = 3 + t * (tooth + 1);
      go(from, 0);
      for (let k = 0; k <= 4; k++)
        go(from + 2 + 1.5 * (1 - Math.cos((k * Math.PI) / 8)), 7.5 + 1.5 * Math.sin((k * Math.PI) / 8));
      for (let k = 0; k <= 4; k++)
        go(from + tooth - 2 - 1.5 * (1 - Math.sin((k * Math.PI) / 8)), 7.5 + 1.5 * Math.cos((k * Math.PI) / 8));
      go(from + tooth, 0);
    }
  };
  // The cross, clockwise on screen (y down): four panels around one, two more below.
  const [l, m, n, r] = [18, 71, 132, 185];
  const [t, u, v, b] = [17, 70, 140, 200];
  side(m, t, n, t, true);
  side(n, t, n, u, false);
  side(n, u, r, u, true);
  side(r, u, r, v, false);
  side(r, v, n, v, true);
  side(n, v, n, b, false);
  side(n, b, m, b, true);
  side(m, b, m, v, true);
  side(m, v, l, v, false);
  side(l, v, l, u, true);
  side(l, u, m, u, false);
  side(m, u, m, t, false);
  return {
    outer,
    openings: [
      reversed(around(101, 105, 40, () => 11)),
      reversed([at(84, 156), at(118, 156), at(118, 180), at(84, 180)]),
    ],
  };
};

const blob = (): Outline<"drawing"> => ({
  outer: around(101.6, 127, 2400, (a) => 80 + 9 * Math.sin(3 * a + 0.4) + 5 * Math.cos(7 * a) + 2 * Math.sin(13 * a)),
  openings: [
    reversed(around(80, 110, 180, (a) => 13 + 2 * Math.sin(5 * a))),
    reversed(around(125, 150, 180, (a) => 9 + Math.cos(4 * a))),
  ],
});

/** Straight runs between noisy points, as a tracer leaves them: never crossing itself, since the noise is radial. */
const traced = (): Outline<"drawing"> => {
  const noise = random(11);
  const rough = (x: number, y: number, vertices: number, radius: (a: number) => number): Contour<"drawing"> =>
    around(x, y, vertices, (a) => radius(a) + 0.5 * (noise() - 0.5));
  const holes = [
    [70, 90],
    [130, 95],
    [65, 150],
    [135, 160],
    [100, 70],
    [100, 185],
  ] as const;
  return {
    outer: rough(101.6, 127, 12_000, (a) => 82 + 10 * Math.sin(4 * a + 1) + 5 * Math.sin(9 * a)),
    openings: holes.map(([x, y]) => reversed(rough(x, y, 400, (a) => 9 + 1.5 * Math.sin(3 * a)))),
  };
};

export const CONTOURS: Readonly<Record<"net" | "blob" | "traced", Outline<"drawing">>> = {
  net: net(),
  blob: blob(),
  traced: traced(),
};

export const verticesOf = ({ outer, openings }: Outline<"drawing">): number =>
  openings.reduce((n, o) => n + o.length, outer.length);

export const lengthOf = ({ outer, openings }: Outline<"drawing">): number =>
  [outer, ...openings].reduce(
    (sum, ring) =>
      sum +
      ring.reduce((s, p, i) => {
        const q = ring[(i + 1) % ring.length] as Point;
        return s + Math.hypot(q.x - p.x, q.y - p.y);
      }, 0),
    0,
  );

export const about = (outline: Outline<"drawing">): string =>
  `${verticesOf(outline)} vertices, ${toMm(lengthOf(outline)).toFixed(0)} mm`;
