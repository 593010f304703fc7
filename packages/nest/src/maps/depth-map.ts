import { around } from "./around.ts";
import type { DepthMap } from "./depth.ts";
import { REF_X, REF_Y } from "./grid.ts";
import { insideRow } from "./inside-row.ts";
import { nearest } from "./nearest.ts";
import type { Segments } from "./overlap-boundary.ts";

/** From that point to the farthest corner, over half a diagonal. */
const FARTHEST = 1.04;

/** Builds the map of a no-fit region with `cellsWide` cells along its longer side. */
export const depthMap = (segments: Segments, clearance: number, cellsWide: number): DepthMap => {
  const { ends, slit, count } = segments;
  let minX = Infinity;
  let minY = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  for (let k = 0; k < 4 * count; k += 2) {
    const x = ends[k];
    const y = ends[k + 1];
    if (x < minX) minX = x;
    if (x > maxX) maxX = x;
    if (y < minY) minY = y;
    if (y > maxY) maxY = y;
  }
  if (count === 0) minX = minY = maxX = maxY = 0;
  const x0 = minX - clearance;
  const y0 = minY - clearance;
  const w = maxX - minX + 2 * clearance || 1;
  const h = maxY - minY + 2 * clearance || 1;
  const size = Math.max(w, h) / cellsWide;
  const nx = Math.max(2, Math.ceil(w / size));
  const ny = Math.max(2, Math.ceil(h / size));
  const hx = w / nx;
  const hy = h / ny;
  const { square } = nearest(ends, count, x0, y0, hx, hy, nx, ny);
  const nodes = new Float32Array((nx + 1) * (ny + 1));
  const row = new Uint8Array(nx + 1);
  for (let j = 0; j <= ny; j++) {
    insideRow(segments, y0 + j * hy, x0, hx, nx + 1, row);
    for (let i = 0; i <= nx; i++) {
      const k = j * (nx + 1) + i;
      const d = Math.sqrt(square[k]);
      nodes[k] = (row[i] === 1 ? d : -d) + clearance;
    }
  }
  const cells = new Int32Array(nx * ny);
  const half = Math.hypot(hx, hy) / 2;
  // Whatever a near cell lists lies within this of its point: no cell need look at all segments.
  const about = around(ends, count, { x0, y0, hx, hy, nx, ny }, clearance + 3 * half * FARTHEST + 1);
  const lists: number[] = [0];
  for (let j = 0; j < ny; j++) {
    insideRow(segments, y0 + (j + REF_Y) * hy, x0 + REF_X * hx, hx, nx, row);
    for (let i = 0; i < nx; i++) {
      const c = j * nx + i;
      const [from, to] = [about.start[c], about.start[c + 1]];
      let least = Infinity;
      for (let k = from; k < to; k++) least = Math.min(least, about.distance[k]);
      const depth = (row[i] === 1 ? least : -least) + clearance;
      if (Math.abs(depth) > half * FARTHEST) {
        cells[c] = depth > 0 ? -1 : 0;
        continue;
      }
      const at = lists.length;
      lists.push(0);
      for (let k = from; k < to; k++)
        if (about.distance[k] <= least + 2 * half * FARTHEST) lists.push(about.segment[k]);
      lists[at] = (lists.length - at - 1) * 2 + row[i];
      cells[c] = at;
    }
  }
  return {
    x0,
    y0,
    x1: x0 + w,
    y1: y0 + h,
    nx,
    ny,
    perX: 1 / hx,
    perY: 1 / hy,
    nodes,
    cells,
    // Half the memory wherever it does: thousands of maps are kept.
    lists: lists.length < 65536 && count < 32768 ? Uint16Array.from(lists) : Int32Array.from(lists),
    ends,
    slit,
    clearance,
  };
};
