// Shapes and jobs drawn at random from a seed, for the tests and benches of the layout.
import type { Contour, Outline } from "@kitforme/geometry";
import type { Field, Footprint } from "@kitforme/nest";

export type Draw = () => number;

/** A small seeded stream of numbers in [0, 1). */
export const draws = (seed: number): Draw => {
  let state = (seed ^ 0x2545f491) >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return ((z ^ (z >>> 16)) >>> 0) / 4294967296;
  };
};

const round = (points: readonly (readonly [number, number])[]): Contour =>
  points.map(([x, y]) => ({ x: Math.round(x), y: Math.round(y) }));

export const rectangle = (w: number, h: number, x = 0, y = 0): Contour =>
  round([
    [x, y],
    [x + w, y],
    [x + w, y + h],
    [x, y + h],
  ]);

/** A ring of `n` points at radii from `inner` to `outer`, one about the origin: never crosses itself. */
export const starry = (draw: Draw, n: number, inner: number, outer: number): Contour =>
  round(
    Array.from({ length: n }, (_, k) => {
      const a = ((k + 0.6 * draw()) / n) * 2 * Math.PI;
      const r = inner + (outer - inner) * draw();
      return [r * Math.cos(a), r * Math.sin(a)] as const;
    }),
  );

export const disc = (n: number, r: number, x = 0, y = 0): Contour =>
  round(
    Array.from({ length: n }, (_, k) => [
      x + r * Math.cos((2 * Math.PI * k) / n),
      y + r * Math.sin((2 * Math.PI * k) / n),
    ]),
  );

const elbow = (draw: Draw, size: number): Contour => {
  const w = size * (0.5 + draw());
  const h = size * (0.5 + draw());
  const a = w * (0.25 + 0.4 * draw());
  const b = h * (0.25 + 0.4 * draw());
  return round([
    [0, 0],
    [w, 0],
    [w, b],
    [a, b],
    [a, h],
    [0, h],
  ]);
};

/** A piece of any sort a kit may hold: plain, starry, elbow, ring with an opening, two parts. Sizes about `size`. */
export const anyShape = (draw: Draw, size: number): Outline[] => {
  const sort = Math.floor(draw() * 6);
  if (sort === 0) return [{ outer: rectangle(size * (0.4 + draw()), size * (0.4 + draw())), openings: [] }];
  if (sort === 1) return [{ outer: starry(draw, 5 + Math.floor(draw() * 12), size * 0.25, size * 0.6), openings: [] }];
  if (sort === 2) return [{ outer: elbow(draw, size), openings: [] }];
  if (sort === 3) return [{ outer: disc(40, size * 0.6), openings: [disc(24, size * 0.4).toReversed()] }];
  if (sort === 4) {
    const part = elbow(draw, size * 0.6);
    const wide = Math.max(...part.map((p) => p.x));
    return [
      { outer: part, openings: [] },
      { outer: rectangle(size * 0.3, size * 0.5, wide + Math.round(size * 0.15), 0), openings: [] },
    ];
  }
  return [{ outer: starry(draw, 24, size * 0.35, size * 0.5), openings: [] }];
};

/** A job as a shop might send it: some footprints, a sheet with keep-outs or none, a clearance. */
export const anyJob = (
  seed: number,
): { footprints: Footprint[]; field: Field; items: { footprint: number; key: number }[] } => {
  const draw = draws(seed);
  const kinds = 1 + Math.floor(draw() * 5);
  const width = 200_000 + Math.floor(draw() * 200_000);
  const height = 200_000 + Math.floor(draw() * 250_000);
  const print = { x: 5000, y: 8000, width: width - 10_000, height: height - 13_000 };
  const cut = { x: 12_000, y: 14_000, width: width - 24_000, height: height - 28_000 };
  const marks =
    draw() < 0.6
      ? [
          disc(24, 4500, 10_000, 13_000),
          disc(24, 4500, width - 10_000, height - 13_000),
          rectangle(60_000, 9000, 40_000, 0),
        ]
      : [];
  const footprints = Array.from({ length: kinds }, (_, k): Footprint => {
    const shape = anyShape(draw, 15_000 + draw() * 70_000);
    const turns =
      draw() < 0.15
        ? "any"
        : draw() < 0.4
          ? [0, 180]
          : draw() < 0.5
            ? [0, 90, 180, 270]
            : [0, Math.floor(draw() * 360)];
    const axis = draw() < 0.2 ? ({ axis: draw() < 0.5 ? "x" : "y" } as const) : {};
    return { id: `piece ${k}`, shape, core: shape, turns, ...axis };
  });
  const items = Array.from({ length: 1 + Math.floor(draw() * 25) }, (_, key) => ({
    footprint: Math.floor(draw() * kinds),
    key,
  }));
  const field: Field = {
    id: "sheet",
    width,
    height,
    bounds: print,
    coreBounds: cut,
    keepOuts: marks,
    clearance: draw() < 0.3 ? 0 : Math.floor(draw() * 3000),
    ...(draw() < 0.5 ? { axis: "y" as const } : {}),
  };
  return { footprints, field, items };
};
