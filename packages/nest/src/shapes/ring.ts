import type { Outline } from "@kitforme/geometry";
import { unit } from "@kitforme/geometry";

/** A simply connected ring as x0 y0 x1 y1 ..., wound counter-clockwise, whole micrometres. */
export type Ring = Float64Array;

export interface Box {
  minX: number;
  minY: number;
  maxX: number;
  maxY: number;
}

export const areaOf = (ring: ArrayLike<number>): number => {
  let sum = 0;
  const n = ring.length;
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) sum += ring[j] * ring[i + 1] - ring[i] * ring[j + 1];
  return sum / 2;
};

export const boxOf = (rings: readonly ArrayLike<number>[]): Box => {
  const box = { minX: Infinity, minY: Infinity, maxX: -Infinity, maxY: -Infinity };
  for (const ring of rings)
    for (let i = 0; i < ring.length; i += 2) {
      const x = ring[i];
      const y = ring[i + 1];
      if (x < box.minX) box.minX = x;
      if (x > box.maxX) box.maxX = x;
      if (y < box.minY) box.minY = y;
      if (y > box.maxY) box.maxY = y;
    }
  return box;
};

/** Takes out repeated and in-line points and spikes, until none is left. */
export const tidy = (points: readonly number[]): number[] => {
  let ring = points.slice();
  for (;;) {
    const n = ring.length / 2;
    if (n < 3) return [];
    const kept: number[] = [];
    for (let i = 0; i < n; i++) {
      const px = kept.length > 0 ? kept[kept.length - 2] : ring[2 * n - 2];
      const py = kept.length > 0 ? kept[kept.length - 1] : ring[2 * n - 1];
      const x = ring[2 * i];
      const y = ring[2 * i + 1];
      const q = ((i + 1) % n) * 2;
      const cross = (x - px) * (ring[q + 1] - y) - (y - py) * (ring[q] - x);
      if (cross !== 0) kept.push(x, y);
    }
    if (kept.length === ring.length) return ring;
    ring = kept;
  }
};

const flat = (contour: readonly { readonly x: number; readonly y: number }[]): number[] =>
  contour.flatMap((p) => [p.x, p.y]);

const backwards = (ring: readonly number[]): number[] => {
  const out: number[] = [];
  for (let i = ring.length - 2; i >= 0; i -= 2) out.push(ring[i], ring[i + 1]);
  return out;
};

/** Winds a ring so that the part lies to the left of its travel: outers counter-clockwise, openings clockwise. */
export const wound = (ring: readonly number[], outer: boolean): number[] =>
  areaOf(ring) > 0 === outer ? ring.slice() : backwards(ring);

/** Whether the open segment p-q crosses or touches the segment a-b, ends in common aside. */
const meets = (
  px: number,
  py: number,
  qx: number,
  qy: number,
  ax: number,
  ay: number,
  bx: number,
  by: number,
): boolean => {
  if ((ax === px && ay === py) || (ax === qx && ay === qy) || (bx === px && by === py) || (bx === qx && by === qy))
    return false;
  const o1 = Math.sign((qx - px) * (ay - py) - (qy - py) * (ax - px));
  const o2 = Math.sign((qx - px) * (by - py) - (qy - py) * (bx - px));
  const o3 = Math.sign((bx - ax) * (py - ay) - (by - ay) * (px - ax));
  const o4 = Math.sign((bx - ax) * (qy - ay) - (by - ay) * (qx - ax));
  return o1 * o2 <= 0 && o3 * o4 <= 0;
};

/**
 * Joins the openings to their outer ring by slits of no width, so that one simply connected ring remains. The winding
 * number of a convolution counts overlapping parts only for simply connected shapes: around an opening left open it
 * would count a full overlap as none.
 */
const keyhole = (outer: readonly number[], openings: readonly (readonly number[])[]): number[] => {
  let ring = outer.slice();
  const waiting = openings.map((o) => o.slice());
  while (waiting.length > 0) {
    let best = Infinity;
    let at: [opening: number, from: number, to: number] = [0, 0, 0];
    waiting.forEach((opening, k) => {
      for (let i = 0; i < ring.length; i += 2)
        for (let j = 0; j < opening.length; j += 2) {
          const ax = ring[i];
          const ay = ring[i + 1];
          const bx = opening[j];
          const by = opening[j + 1];
          const d = (ax - bx) ** 2 + (ay - by) ** 2;
          if (d >= best) continue;
          const blocked = [ring, ...waiting].some((other) => {
            for (let p = other.length - 2, q = 0; q < other.length; p = q, q += 2)
              if (meets(ax, ay, bx, by, other[p], other[p + 1], other[q], other[q + 1])) return true;
            return false;
          });
          if (!blocked) {
            best = d;
            at = [k, i, j];
          }
        }
    });
    if (best === Infinity) return ring; // no straight slit: the opening is lost for nesting, never wrongly used
    const [k, i, j] = at;
    const opening = waiting.splice(k, 1)[0];
    const around = [...opening.slice(j), ...opening.slice(0, j), opening[j], opening[j + 1]];
    ring = [...ring.slice(0, i + 2), ...around, ...ring.slice(i)];
  }
  return ring;
};

/** The turned points, each rounded to the whole micrometre as everything on a sheet is. */
export const turned = (ring: readonly number[], degrees: number, round: boolean): number[] => {
  const [cos, sin] = unit(degrees);
  const out: number[] = [];
  for (let i = 0; i < ring.length; i += 2) {
    const x = ring[i];
    const y = ring[i + 1];
    const u = cos * x - sin * y;
    const v = sin * x + cos * y;
    out.push(round ? Math.round(u) : u, round ? Math.round(v) : v);
  }
  return out;
};

/** A part of a shape as the search knows it. */
export interface Part {
  /** Its openings joined to its outer ring by slits. */
  readonly ring: readonly number[];
  /** Without them: what it is to all that goes into none of them. */
  readonly closed: readonly number[];
  readonly openings: readonly (readonly number[])[];
}

/** The rings that stand for a shape in the search: one per part, openings joined by slits. */
export const ringsOf = (
  shape: readonly Outline[],
  prepare?: (ring: number[], outer: boolean) => number[],
): (readonly number[])[] => partsOf(shape, prepare).map(({ ring }) => ring);

/** The parts that stand for a shape in the search. */
export const partsOf = (
  shape: readonly Outline[],
  prepare: (ring: number[], outer: boolean) => number[] = (r) => r,
): Part[] =>
  shape.flatMap((outline) => {
    const outer = prepare(wound(tidy(flat(outline.outer)), true), true);
    if (outer.length < 6) return [];
    const openings = outline.openings
      .map((o) => tidy(flat(o)))
      .filter((o) => o.length >= 6)
      .map((o) => prepare(wound(o, false), false))
      .filter((o) => o.length >= 6);
    return [{ ring: keyhole(outer, openings), closed: outer, openings }];
  });
