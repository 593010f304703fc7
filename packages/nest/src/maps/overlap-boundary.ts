// The boundary of all positions in which two shapes overlap (no-fit region), as loose segments.
//
// Both shapes are simply connected rings A and -B. Their convolution - every edge of one added to every vertex of the
// other whose turn contains the edge's direction, reversed at reflex vertices - has a winding number that counts the
// separate overlaps of A and B exactly (Guibas, Ramshaw and Stolfi 1983). So the boundary of "winding >= 1" is the no-fit
// boundary: no union of quads, no slivers left inside. Several parts simply add up. Only edges made at convex vertices can
// lie on it. Segments need not be chained: distance and inside tests work on loose ones.
//
// Tried before: clipper's MinkowskiSum (quads united): 24 ms for two shapes of 20 points and lost interiors; this takes
// 0.3 ms.
import { Banded } from "./banded.ts";
import { convolve } from "./convolve.ts";
import { Growing } from "./growing.ts";
import { holdsUp } from "./holds-up.ts";
import { LATTICE, Nodes } from "./lattice.ts";
import { type Box, boxOf, type Part, turned } from "../shapes/ring.ts";
import { split } from "./split.ts";
import { windingOf } from "./winding.ts";

/** Segments with the overlap to the left of a -> b. Slits have it on both sides: positions of exact contact. */
export interface Segments {
  readonly count: number;
  /** ax ay bx by of each segment. */
  readonly ends: Float64Array;
  readonly slit: Uint8Array;
  /** The whole convolution, ax ay bx by: its winding number tells inside from outside without any rounding. */
  readonly convolution: Float64Array;
}

/** A part of a shape, turned as it meets the other. */
interface Shape {
  readonly ring: Float64Array;
  readonly closed: Float64Array;
  readonly box: Box;
  /** Boxes of its openings. */
  readonly openings: readonly Box[];
}

/** A part in a turn, its points rounded as on a sheet. */
export const shapeOf = ({ ring, closed, openings }: Part, degrees: number): Shape => {
  const at = (points: readonly number[]): Float64Array =>
    Float64Array.from(degrees === 0 ? points : turned(points, degrees, true));
  const outer = at(closed);
  return {
    ring: openings.length > 0 ? at(ring) : outer,
    closed: outer,
    box: boxOf([outer]),
    openings: openings.map((opening) => boxOf([at(opening)])),
  };
};

/**
 * Whether one could lie in an opening of the other, by their boxes. Where it cannot, the opening bounds nothing: it is left out,
 * and of a sheet of windows a map is made in a tenth of the time.
 */
const goesInto = ({ box }: Shape, { openings }: Shape): boolean =>
  openings.some((o) => o.maxX - o.minX >= box.maxX - box.minX && o.maxY - o.minY >= box.maxY - box.minY);

/**
 * Segments that bound the overlapping positions of B against A (B's move relative to A), for rings of whole coordinates.
 * Exact up to the lattice of 1/64 micrometre.
 */
export const overlapBoundary = (a: readonly Shape[], b: readonly Shape[]): Segments => {
  const edges = new Growing();
  const plus: number[] = [];
  for (const q of b)
    for (const p of a) {
      const fixed = goesInto(q, p) ? p.ring : p.closed;
      const minus = (goesInto(p, q) ? q.ring : q.closed).map((v) => -v);
      convolve(fixed, minus, true, edges, plus);
      convolve(minus, fixed, false, edges, plus);
    }
  const convolution = edges.data.slice(0, edges.length);
  const windingAt = windingOf(convolution);
  const nodes = new Nodes();
  const pieces = split(convolution, plus, nodes);
  const { x, y } = nodes;
  let minX = Infinity;
  let maxX = -Infinity;
  let minY = Infinity;
  let maxY = -Infinity;
  for (let i = 0; i < nodes.count; i++) {
    const vx = x[i];
    const vy = y[i];
    if (vx < minX) minX = vx;
    if (vx > maxX) maxX = vx;
    if (vy < minY) minY = vy;
    if (vy > maxY) maxY = vy;
  }
  const bands = Math.max(1, Math.min(512, pieces.count >> 2));
  const rows = new Banded(pieces, y, x, bands, minY, (maxY - minY) / bands || 1, 1);
  const columns = new Banded(pieces, x, y, bands, minX, (maxX - minX) / bands || 1, -1);

  const ends: number[] = [];
  const slit: number[] = [];
  for (let s = 0; s < pieces.count; s++) {
    const m = pieces.net[s];
    const gone = pieces.gone[s];
    if (pieces.born[s] === 0 || (m === 0 && gone <= 0)) continue;
    const u = pieces.from[s];
    const v = pieces.to[s];
    const ux = x[u];
    const uy = y[u];
    const vx = x[v];
    const vy = y[v];
    // A ray from the middle, across the longer way of the piece, so that it leaves the piece at once.
    const steep = Math.abs(vy - uy) >= Math.abs(vx - ux);
    const c = steep ? y : x;
    const o = steep ? x : y;
    const mc = (c[u] + c[v]) / 2;
    const mo = (o[u] + o[v]) / 2;
    const w = (steep ? rows : columns).beyond(mc, mo, s);
    // w is the winding on the far side of the ray's start; the near side differs by the piece itself.
    const forward = c[v] > c[u] === steep;
    const leftIsFar = !forward;
    const left = leftIsFar ? w : w + m;
    const right = leftIsFar ? w - m : w;
    const keep = (from: number, to: number, both: boolean): void => {
      const ax = x[from] / LATTICE;
      const ay = y[from] / LATTICE;
      const bx = x[to] / LATTICE;
      const by = y[to] / LATTICE;
      if (!holdsUp(windingAt, ax, ay, bx, by, both)) return;
      ends.push(ax, ay, bx, by);
      slit.push(both ? 1 : 0);
    };
    if (left >= 1 !== right >= 1) {
      if (left >= 1) keep(u, v, false);
      else keep(v, u, false);
    } else if (left >= 1 && left <= gone) keep(u, v, true);
  }
  return { count: slit.length, ends: Float64Array.from(ends), slit: Uint8Array.from(slit), convolution };
};
