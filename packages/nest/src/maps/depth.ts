import type { Segments } from "./minkowski.ts";

/**
 * How deep two shapes overlap for a relative position, looked up in nanoseconds: a grid over the no-fit region. Far inside
 * a cell answers from its corners (bilinear); where the limit of "clear" may run through a cell, a short list of segments
 * answers exactly. Clearance is a distance to the region, so corners come out round without offsetting any shape.
 */
export interface DepthMap {
  /** Positions outside this box are clear. */
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
  readonly nx: number;
  readonly ny: number;
  readonly perX: number;
  readonly perY: number;
  /** Depth at the corners, clearance added; negative where clear. */
  readonly nodes: Float32Array;
  /** 0 clear, -1 deep inside, else where the cell's list starts in `lists`. */
  readonly cells: Int32Array;
  /** Per near cell: count * 2 + (centre inside), then segment numbers. */
  readonly lists: Int32Array | Uint16Array;
  readonly ends: Float64Array;
  readonly slit: Uint8Array;
  readonly clearance: number;
}

/**
 * Point of a cell, in parts of it, for which inside or outside is kept. Off the middle: lines of symmetric shapes run
 * exactly through middles, and on a line there is no inside.
 */
const REF_X = 0.5137;
const REF_Y = 0.4871;
/** From that point to the farthest corner, over half a diagonal. */
const FARTHEST = 1.04;

const toSegment = (ends: Float64Array, s: number, x: number, y: number): number => {
  const k = 4 * s;
  const ax = ends[k];
  const ay = ends[k + 1];
  const dx = ends[k + 2] - ax;
  const dy = ends[k + 3] - ay;
  const px = x - ax;
  const py = y - ay;
  let t = (px * dx + py * dy) / (dx * dx + dy * dy);
  t = t < 0 ? 0 : t > 1 ? 1 : t;
  const ex = px - t * dx;
  const ey = py - t * dy;
  return ex * ex + ey * ey;
};

/** For each corner of the grid, the nearest segment as found by handing neighbours' nearest on, forth and back. */
const nearest = (
  ends: Float64Array,
  count: number,
  x0: number,
  y0: number,
  hx: number,
  hy: number,
  nx: number,
  ny: number,
): { near: Int32Array; square: Float64Array } => {
  const wide = nx + 1;
  const near = new Int32Array(wide * (ny + 1)).fill(-1);
  const square = new Float64Array(wide * (ny + 1)).fill(Infinity);
  const offer = (i: number, j: number, s: number): void => {
    const k = j * wide + i;
    if (near[k] === s) return;
    const d = toSegment(ends, s, x0 + i * hx, y0 + j * hy);
    if (d < square[k]) {
      square[k] = d;
      near[k] = s;
    }
  };
  for (let s = 0; s < count; s++) {
    const ax = (ends[4 * s] - x0) / hx;
    const ay = (ends[4 * s + 1] - y0) / hy;
    const bx = (ends[4 * s + 2] - x0) / hx;
    const by = (ends[4 * s + 3] - y0) / hy;
    const steps = Math.max(1, Math.ceil(Math.max(Math.abs(bx - ax), Math.abs(by - ay)) * 2));
    for (let k = 0; k <= steps; k++) {
      const i = Math.min(nx - 1, Math.max(0, Math.floor(ax + ((bx - ax) * k) / steps)));
      const j = Math.min(ny - 1, Math.max(0, Math.floor(ay + ((by - ay) * k) / steps)));
      offer(i, j, s);
      offer(i + 1, j, s);
      offer(i, j + 1, s);
      offer(i + 1, j + 1, s);
    }
  }
  const from = (i: number, j: number, p: number, q: number): void => {
    if (p < 0 || q < 0 || p > nx || q > ny) return;
    const s = near[q * wide + p];
    if (s >= 0) offer(i, j, s);
  };
  for (let j = 0; j <= ny; j++) {
    for (let i = 0; i <= nx; i++) {
      from(i, j, i - 1, j);
      from(i, j, i - 1, j - 1);
      from(i, j, i, j - 1);
      from(i, j, i + 1, j - 1);
    }
    for (let i = nx; i >= 0; i--) from(i, j, i + 1, j);
  }
  for (let j = ny; j >= 0; j--) {
    for (let i = nx; i >= 0; i--) {
      from(i, j, i + 1, j);
      from(i, j, i + 1, j + 1);
      from(i, j, i, j + 1);
      from(i, j, i - 1, j + 1);
    }
    for (let i = 0; i <= nx; i++) from(i, j, i - 1, j);
  }
  return { near, square };
};

/** Inside or not for every point x0 + i hx of a row: the winding number of the convolution, summed along the row. */
const insideRow = (
  { convolution: e }: Segments,
  y: number,
  x0: number,
  hx: number,
  n: number,
  row: Uint8Array,
): void => {
  const steps = new Int32Array(n + 1);
  let all = 0;
  for (let k = 0; k < e.length; k += 4) {
    const ay = e[k + 1];
    const by = e[k + 3];
    if (ay <= y === by <= y) continue;
    const ax = e[k];
    const x = ax + ((y - ay) / (by - ay)) * (e[k + 2] - ax);
    const sign = by > ay ? 1 : -1;
    all += sign;
    const from = Math.min(n, Math.max(0, Math.ceil((x - x0) / hx)));
    steps[from] = steps[from] - sign;
  }
  // Winding counts the crossings to the right: all of them, less those passed.
  let w = all;
  for (let i = 0; i < n; i++) {
    w += steps[i];
    row[i] = w >= 1 ? 1 : 0;
  }
};

/** Lines of contact, ax ay bx by: the segments moved outward by the clearance, on which the shapes just keep clear. */
export const contactsOf = (map: DepthMap): Float64Array => {
  const { ends, slit, clearance } = map;
  const out = new Float64Array(ends.length);
  for (let s = 0; s < slit.length; s++) {
    const ax = ends[4 * s];
    const ay = ends[4 * s + 1];
    const bx = ends[4 * s + 2];
    const by = ends[4 * s + 3];
    const reach = slit[s] === 1 ? 0 : clearance / Math.hypot(bx - ax, by - ay);
    const ox = (by - ay) * reach;
    const oy = (ax - bx) * reach;
    out[4 * s] = ax + ox;
    out[4 * s + 1] = ay + oy;
    out[4 * s + 2] = bx + ox;
    out[4 * s + 3] = by + oy;
  }
  return out;
};

interface Grid {
  readonly x0: number;
  readonly y0: number;
  readonly hx: number;
  readonly hy: number;
  readonly nx: number;
  readonly ny: number;
}

/** For each cell the segments within `reach` of its point, in order, with their distances. */
const around = (
  ends: Float64Array,
  count: number,
  { x0, y0, hx, hy, nx, ny }: Grid,
  reach: number,
): { start: Int32Array; segment: Int32Array; distance: Float64Array } => {
  const start = new Int32Array(nx * ny + 1);
  const hitCell: number[] = [];
  const hitSegment: number[] = [];
  const hitDistance: number[] = [];
  const square = reach * reach;
  const column = (x: number): number => (x - x0) / hx - REF_X;
  const line = (y: number): number => (y - y0) / hy - REF_Y;
  for (let s = 0; s < count; s++) {
    const ax = ends[4 * s];
    const ay = ends[4 * s + 1];
    const bx = ends[4 * s + 2];
    const by = ends[4 * s + 3];
    const i1 = Math.min(nx - 1, Math.floor(column(Math.max(ax, bx) + reach)));
    const j1 = Math.min(ny - 1, Math.floor(line(Math.max(ay, by) + reach)));
    const i0 = Math.max(0, Math.ceil(column(Math.min(ax, bx) - reach)));
    for (let j = Math.max(0, Math.ceil(line(Math.min(ay, by) - reach))); j <= j1; j++)
      for (let i = i0; i <= i1; i++) {
        const d = toSegment(ends, s, x0 + (i + REF_X) * hx, y0 + (j + REF_Y) * hy);
        if (d > square) continue;
        const c = j * nx + i;
        start[c + 1] = start[c + 1] + 1;
        hitCell.push(c);
        hitSegment.push(s);
        hitDistance.push(Math.sqrt(d));
      }
  }
  for (let c = 0; c < nx * ny; c++) start[c + 1] = start[c + 1] + start[c];
  const next = start.slice(0, nx * ny);
  const segment = new Int32Array(hitCell.length);
  const distance = new Float64Array(hitCell.length);
  for (let k = 0; k < hitCell.length; k++) {
    const at = next[hitCell[k]];
    next[hitCell[k]] = at + 1;
    segment[at] = hitSegment[k];
    distance[at] = hitDistance[k];
  }
  return { start, segment, distance };
};

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

/** Depth of overlap at (x, y): 0 where clear. Exact along the limit, from the corners elsewhere. */
export const depthAt = (m: DepthMap, x: number, y: number): number => {
  const gx = (x - m.x0) * m.perX;
  const gy = (y - m.y0) * m.perY;
  const nx = m.nx;
  if (!(gx >= 0 && gy >= 0 && gx < nx && gy < m.ny)) return 0;
  const i = gx | 0;
  const j = gy | 0;
  const at = m.cells[j * nx + i];
  if (at === 0) return 0;
  if (at < 0) {
    const nodes = m.nodes;
    const k = j * (nx + 1) + i;
    const fx = gx - i;
    const fy = gy - j;
    const a = nodes[k];
    const b = nodes[k + nx + 1];
    const low = a + fx * (nodes[k + 1] - a);
    const high = b + fx * (nodes[k + nx + 2] - b);
    return low + fy * (high - low);
  }
  return exactly(m, x, y, at, m.x0 + (i + REF_X) / m.perX, m.y0 + (j + REF_Y) / m.perY);
};

const exactly = (m: DepthMap, x: number, y: number, at: number, cx: number, cy: number): number => {
  const { lists, ends, slit } = m;
  const head = lists[at];
  let inside = (head & 1) === 1;
  const stop = at + 1 + (head >> 1);
  let least = Infinity;
  const vx = cx - x;
  const vy = cy - y;
  for (let l = at + 1; l < stop; l++) {
    const s = lists[l];
    const k = 4 * s;
    const ax = ends[k];
    const ay = ends[k + 1];
    const dx = ends[k + 2] - ax;
    const dy = ends[k + 3] - ay;
    const px = x - ax;
    const py = y - ay;
    let t = (px * dx + py * dy) / (dx * dx + dy * dy);
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    const ex = px - t * dx;
    const ey = py - t * dy;
    const d = ex * ex + ey * ey;
    if (d < least) least = d;
    if (slit[s] === 0) {
      // Does the way from here to the cell's centre cross the segment? Half open, so a shared end counts once.
      const here = dx * py - dy * px > 0;
      const there = dx * (cy - ay) - dy * (cx - ax) > 0;
      if (here !== there) {
        const a = vx * -py - vy * -px > 0;
        const b = vx * (dy - py) - vy * (dx - px) > 0;
        if (a !== b) inside = !inside;
      }
    }
  }
  const d = Math.sqrt(least);
  const depth = (inside ? d : -d) + m.clearance;
  return depth > 0 ? depth : 0;
};

/**
 * The clear place next to (x, y), where shapes overlap by `depth`, written to `out`: the nearest point of the region's limit
 * and the clearance beyond it. False far inside, where nobody wants to know.
 */
export const exitAt = (m: DepthMap, x: number, y: number, depth: number, out: Float64Array): boolean => {
  const at = m.cells[Math.floor((y - m.y0) * m.perY) * m.nx + Math.floor((x - m.x0) * m.perX)];
  if (!(at > 0)) return false;
  const { lists, ends, clearance } = m;
  const stop = at + 1 + (lists[at] >> 1);
  let least = Infinity;
  let nearest = 0;
  for (let l = at + 1; l < stop; l++) {
    const s = lists[l];
    const square = toSegment(ends, s, x, y);
    if (square < least) {
      least = square;
      nearest = s;
    }
  }
  const k = 4 * nearest;
  const ax = ends[k];
  const ay = ends[k + 1];
  const dx = ends[k + 2] - ax;
  const dy = ends[k + 3] - ay;
  let t = ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy);
  t = t < 0 ? 0 : t > 1 ? 1 : t;
  const cx = ax + t * dx;
  const cy = ay + t * dy;
  const distance = Math.sqrt(least);
  // On the limit itself the segment says which side is out: it has the overlap to its left.
  const onIt = distance < 1e-6;
  const length = onIt ? Math.hypot(dx, dy) : distance;
  const reach = clearance / length;
  // Inside the region the way leads through its limit, in the clearance around it away from it.
  const side = depth > clearance ? -reach : reach;
  out[0] = cx + (onIt ? dy * reach : (x - cx) * side);
  out[1] = cy + (onIt ? -dx * reach : (y - cy) * side);
  return true;
};
