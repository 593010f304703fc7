import { REF_X, REF_Y, toSegment } from "./grid.ts";

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
