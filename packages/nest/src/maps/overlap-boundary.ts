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
import { banded, extent } from "./banded.ts";
import { convolve } from "./convolve.ts";
import { Growing } from "./growing.ts";
import { holdsUp } from "./holds-up.ts";
import { LATTICE, Nodes } from "./lattice.ts";
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

/**
 * Segments that bound the overlapping positions of B against A (B's move relative to A), for rings of whole coordinates.
 * Exact up to the lattice of 1/64 micrometre.
 */
export const overlapBoundary = (a: readonly Float64Array[], b: readonly Float64Array[]): Segments => {
  const edges = new Growing();
  const plus: number[] = [];
  for (const q of b) {
    const minus = q.map((v) => -v);
    for (const p of a) {
      convolve(p, minus, true, edges, plus);
      convolve(minus, p, false, edges, plus);
    }
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
  const rows = banded(pieces, y, bands, minY, (maxY - minY) / bands || 1);
  const columns = banded(pieces, x, bands, minX, (maxX - minX) / bands || 1);

  const [minXs, maxXs] = extent(pieces, x);
  const [minYs, maxYs] = extent(pieces, y);

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
    const { start, list, bandOf } = steep ? rows : columns;
    const band = bandOf(mc);
    const [lowC, highC, lowO, highO] = steep ? [minYs, maxYs, minXs, maxXs] : [minXs, maxXs, minYs, maxYs];
    let w = 0;
    for (let k = start[band]; k < start[band + 1]; k++) {
      const r = list[k];
      if (lowC[r] > mc || highC[r] <= mc || highO[r] <= mo || r === s) continue;
      const f = pieces.from[r];
      const t = pieces.to[r];
      const fc = c[f];
      const tc = c[t];
      if (lowO[r] <= mo) {
        const fo = o[f];
        if (fo + ((mc - fc) / (tc - fc)) * (o[t] - fo) <= mo) continue;
      }
      w += (tc > fc === steep ? 1 : -1) * pieces.net[r];
    }
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
