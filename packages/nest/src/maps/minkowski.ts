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

/** Segments with the overlap to the left of a -> b. Slits have it on both sides: positions of exact contact. */
export interface Segments {
  readonly count: number;
  /** ax ay bx by of each segment. */
  readonly ends: Float64Array;
  readonly slit: Uint8Array;
  /** The whole convolution, ax ay bx by: its winding number tells inside from outside without any rounding. */
  readonly convolution: Float64Array;
}

/** How far beside a segment its two sides are looked at: beyond what the lattice moves. */
const BESIDE = 0.1;

/** Bands of the convolution's height: a point meets the edges of its band only. */
const BANDS = 128;

/** Winding number of the convolution about a point: how many overlaps a position has. */
const windingOf = (e: Float64Array): ((x: number, y: number) => number) => {
  let low = Infinity;
  let high = -Infinity;
  for (let k = 1; k < e.length; k += 2) {
    low = Math.min(low, e[k]);
    high = Math.max(high, e[k]);
  }
  const size = (high - low) / BANDS || 1;
  const bandOf = (y: number): number => Math.min(BANDS - 1, Math.max(0, Math.floor((y - low) / size)));
  const start = new Int32Array(BANDS + 1);
  const each = (visit: (band: number, edge: number) => void): void => {
    for (let k = 0; k < e.length; k += 4) {
      const ay = e[k + 1];
      const by = e[k + 3];
      const last = bandOf(Math.max(ay, by));
      for (let band = bandOf(Math.min(ay, by)); band <= last; band++) visit(band, k);
    }
  };
  each((band) => {
    start[band + 1] = start[band + 1] + 1;
  });
  for (let band = 0; band < BANDS; band++) start[band + 1] = start[band + 1] + start[band];
  const edges = new Int32Array(start[BANDS]);
  const next = start.slice(0, BANDS);
  each((band, edge) => {
    const at = next[band];
    edges[at] = edge;
    next[band] = at + 1;
  });
  return (x, y) => {
    const band = bandOf(y);
    const to = start[band + 1];
    let w = 0;
    for (let i = start[band]; i < to; i++) {
      const k = edges[i];
      const ay = e[k + 1];
      const by = e[k + 3];
      if (ay <= y === by <= y) continue;
      const ax = e[k];
      if (ax + ((y - ay) / (by - ay)) * (e[k + 2] - ax) > x) w += by > ay ? 1 : -1;
    }
    return w;
  };
};

/**
 * Whether a segment found on the lattice is a true one. Rounding can exchange two lines that nearly coincide; with an
 * overlap born and another joined there, the gap between them then looks free although both sides overlap for good. So
 * each side is looked at once more, in the unrounded convolution. A very short segment has no sides: free next to it will do.
 */
const holdsUp = (
  windingAt: (x: number, y: number) => number,
  ax: number,
  ay: number,
  bx: number,
  by: number,
  slit: boolean,
): boolean => {
  const length = Math.hypot(bx - ax, by - ay);
  const mx = (ax + bx) / 2;
  const my = (ay + by) / 2;
  const nx = (-(by - ay) / length) * BESIDE;
  const ny = ((bx - ax) / length) * BESIDE;
  const right = windingAt(mx - nx, my - ny);
  if (slit) return right >= 1 && windingAt(mx + nx, my + ny) >= 1;
  if (right <= 0) return true;
  return (
    length < 5 * BESIDE &&
    (windingAt(mx + nx, my + ny) <= 0 || windingAt(mx + ny, my - nx) <= 0 || windingAt(mx - ny, my + nx) <= 0)
  );
};

/** Split points are kept on a lattice of 1/64 micrometre: far below what rounding forgives, and exact as an int32. */
const LATTICE = 64;

class Growing {
  data = new Float64Array(1024);
  length = 0;
  push4(a: number, b: number, c: number, d: number): void {
    if (this.length + 4 > this.data.length) {
      this.data = doubled(this.data);
    }
    const at = this.length;
    this.data[at] = a;
    this.data[at + 1] = b;
    this.data[at + 2] = c;
    this.data[at + 3] = d;
    this.length = at + 4;
  }
}

/** Convolves the edges of `p` with the vertices of `q`; `first` breaks the tie of parallel edges the same way every time. */
const convolve = (p: Float64Array, q: Float64Array, first: boolean, out: Growing, plus: number[]): void => {
  const n = p.length;
  const m = q.length;
  for (let j = 0; j < m; j += 2) {
    const h = j === 0 ? m - 2 : j - 2;
    const k = j + 2 === m ? 0 : j + 2;
    const qx = q[j];
    const qy = q[j + 1];
    const inX = qx - q[h];
    const inY = qy - q[h + 1];
    const outX = q[k] - qx;
    const outY = q[k + 1] - qy;
    const left = inX * outY - inY * outX > 0;
    // The turn sweeps counter-clockwise from lo to hi.
    const loX = left ? inX : outX;
    const loY = left ? inY : outY;
    const hiX = left ? outX : inX;
    const hiY = left ? outY : inY;
    for (let i = 0; i < n; i += 2) {
      const e = i + 2 === n ? 0 : i + 2;
      const ax = p[i];
      const ay = p[i + 1];
      const dx = p[e] - ax;
      const dy = p[e + 1] - ay;
      const lo = loX * dy - loY * dx;
      const hi = dx * hiY - dy * hiX;
      if (lo < 0 || hi < 0) continue;
      if (lo === 0 && !(first && loX * dx + loY * dy > 0)) continue;
      if (hi === 0 && !(!first && hiX * dx + hiY * dy > 0)) continue;
      const bx = ax + dx + qx;
      const by = ay + dy + qy;
      if (left) out.push4(ax + qx, ay + qy, bx, by);
      else out.push4(bx, by, ax + qx, ay + qy);
      plus.push(left ? 1 : 0);
    }
  }
};

/** Where to look for a pair of whole numbers in a table. */
const hashOf = (a: number, b: number): number => {
  const h = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca6b);
  return h ^ (h >>> 15);
};

/** The same with as much room again. */
const doubled = <T extends Int32Array | Float64Array | Uint8Array>(values: T): T => {
  const more = new (values.constructor as new (length: number) => T)(2 * values.length);
  more.set(values);
  return more;
};

/** Numbers the points of the lattice as they come. */
class Nodes {
  #slots = new Int32Array(4096).fill(-1);
  x = new Int32Array(2048);
  y = new Int32Array(2048);
  count = 0;

  idOf(px: number, py: number): number {
    const kx = Math.round(px * LATTICE);
    const ky = Math.round(py * LATTICE);
    if (this.count * 2 > this.#slots.length - 2) this.#grow();
    const mask = this.#slots.length - 1;
    let h = hashOf(kx, ky) & mask;
    for (;;) {
      const id = this.#slots[h];
      if (id < 0) break;
      if (this.x[id] === kx && this.y[id] === ky) return id;
      h = (h + 1) & mask;
    }
    const id = this.count++;
    this.#slots[h] = id;
    this.x[id] = kx;
    this.y[id] = ky;
    return id;
  }

  #grow(): void {
    this.x = doubled(this.x);
    this.y = doubled(this.y);
    this.#slots = new Int32Array(this.#slots.length * 2).fill(-1);
    const mask = this.#slots.length - 1;
    for (let id = 0; id < this.count; id++) {
      let h = hashOf(this.x[id], this.y[id]) & mask;
      while (this.#slots[h] >= 0) h = (h + 1) & mask;
      this.#slots[h] = id;
    }
  }
}

/** Where each edge is crossed by others: parameter and point, in lists per edge. */
const crossings = (e: Float64Array, count: number): { next: Int32Array; head: Int32Array; at: Float64Array } => {
  const head = new Int32Array(count).fill(-1);
  let next = new Int32Array(1024);
  let at = new Float64Array(3072);
  let used = 0;
  const add = (edge: number, t: number, x: number, y: number): void => {
    if (used === next.length) {
      next = doubled(next);
      at = doubled(at);
    }
    at[3 * used] = t;
    at[3 * used + 1] = x;
    at[3 * used + 2] = y;
    next[used] = head[edge];
    head[edge] = used++;
  };
  const minX = new Float64Array(count);
  const maxX = new Float64Array(count);
  const minY = new Float64Array(count);
  const maxY = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const ax = e[4 * i];
    const bx = e[4 * i + 2];
    const ay = e[4 * i + 1];
    const by = e[4 * i + 3];
    minX[i] = ax < bx ? ax : bx;
    maxX[i] = ax < bx ? bx : ax;
    minY[i] = ay < by ? ay : by;
    maxY[i] = ay < by ? by : ay;
  }
  const order = Int32Array.from({ length: count }, (_, i) => i).sort((a, b) => minX[a] - minX[b]);
  for (let s = 0; s < count; s++) {
    const i = order[s];
    const ax = e[4 * i];
    const ay = e[4 * i + 1];
    const rx = e[4 * i + 2] - ax;
    const ry = e[4 * i + 3] - ay;
    const end = maxX[i];
    const lowY = minY[i];
    const highY = maxY[i];
    for (let k = s + 1; k < count; k++) {
      const j = order[k];
      if (minX[j] > end) break;
      if (minY[j] > highY || maxY[j] < lowY) continue;
      const cx = e[4 * j];
      const cy = e[4 * j + 1];
      const sx = e[4 * j + 2] - cx;
      const sy = e[4 * j + 3] - cy;
      const qx = cx - ax;
      const qy = cy - ay;
      const d = rx * sy - ry * sx;
      if (d === 0) {
        if (qx * ry - qy * rx !== 0) continue;
        // In line: each is split at the other's ends that lie within.
        const rr = rx * rx + ry * ry;
        const ss = sx * sx + sy * sy;
        const t0 = (qx * rx + qy * ry) / rr;
        const t1 = t0 + (sx * rx + sy * ry) / rr;
        if (t0 > 0 && t0 < 1) add(i, t0, cx, cy);
        if (t1 > 0 && t1 < 1) add(i, t1, cx + sx, cy + sy);
        const u0 = -(qx * sx + qy * sy) / ss;
        const u1 = u0 + (rx * sx + ry * sy) / ss;
        if (u0 > 0 && u0 < 1) add(j, u0, ax, ay);
        if (u1 > 0 && u1 < 1) add(j, u1, ax + rx, ay + ry);
        continue;
      }
      const t = (qx * sy - qy * sx) / d;
      const u = (qx * ry - qy * rx) / d;
      if (t < 0 || t > 1 || u < 0 || u > 1) continue;
      const inT = t > 0 && t < 1;
      const inU = u > 0 && u < 1;
      if (!inT && !inU) continue;
      const x = u === 0 ? cx : u === 1 ? cx + sx : ax + t * rx;
      const y = u === 0 ? cy : u === 1 ? cy + sy : ay + t * ry;
      if (inT) add(i, t, x, y);
      if (inU) add(j, u, t === 0 ? ax : t === 1 ? ax + rx : x, t === 0 ? ay : t === 1 ? ay + ry : y);
    }
  }
  return { next, head, at };
};

/** The pieces between crossings, equal ones merged. */
class Pieces {
  count = 0;
  from: Int32Array;
  to: Int32Array;
  /** Overlaps on the left less those on the right. */
  net: Int32Array;
  /** Overlaps on the left less those on the line itself. */
  gone: Int32Array;
  /** Whether any vanishes there at all, else it bounds nothing. */
  born: Uint8Array;
  #slots: Int32Array;

  /** `hope`: how many there may be, about. */
  constructor(hope: number) {
    this.from = new Int32Array(hope);
    this.to = new Int32Array(hope);
    this.net = new Int32Array(hope);
    this.gone = new Int32Array(hope);
    this.born = new Uint8Array(hope);
    this.#slots = new Int32Array(2 ** Math.ceil(Math.log2(2 * hope + 2))).fill(-1);
  }

  /** The piece from node `u` to node `v`. */
  add(u: number, v: number, vanish: boolean): void {
    if (u === v) return;
    const forward = u < v;
    const id = forward ? this.#idOf(u, v) : this.#idOf(v, u);
    this.net[id] = this.net[id] + (forward ? 1 : -1);
    if (vanish) this.born[id] = 1;
    // A convex vertex: an overlap on the left that shrinks to nothing. A reflex one: two on the left, one on the right, and
    // on the line they only touch, so that coming from the one there are two already.
    if (vanish === forward) this.gone[id] = this.gone[id] + (vanish ? 1 : -1);
  }

  #idOf(lo: number, hi: number): number {
    if (this.count === this.from.length) this.#grow();
    const mask = this.#slots.length - 1;
    for (let h = hashOf(lo, hi) & mask; ; h = (h + 1) & mask) {
      const id = this.#slots[h];
      if (id < 0) {
        this.#slots[h] = this.count;
        this.from[this.count] = lo;
        this.to[this.count] = hi;
        return this.count++;
      }
      if (this.from[id] === lo && this.to[id] === hi) return id;
    }
  }

  #grow(): void {
    this.from = doubled(this.from);
    this.to = doubled(this.to);
    this.net = doubled(this.net);
    this.gone = doubled(this.gone);
    this.born = doubled(this.born);
    this.#slots = new Int32Array(this.#slots.length * 2).fill(-1);
    const mask = this.#slots.length - 1;
    for (let id = 0; id < this.count; id++) {
      let h = hashOf(this.from[id], this.to[id]) & mask;
      while (this.#slots[h] >= 0) h = (h + 1) & mask;
      this.#slots[h] = id;
    }
  }
}

const split = (e: Float64Array, plus: readonly number[], nodes: Nodes): Pieces => {
  const count = plus.length;
  const { next, head, at } = crossings(e, count);
  const found = new Pieces(4 * count + 4);
  const splits: number[] = [];
  for (let i = 0; i < count; i++) {
    const vanish = plus[i] === 1;
    splits.length = 0;
    for (let k = head[i]; k >= 0; k = next[k]) splits.push(k);
    if (splits.length > 1) splits.sort((a, b) => at[3 * a] - at[3 * b]);
    let last = nodes.idOf(e[4 * i], e[4 * i + 1]);
    for (const k of splits) {
      const id = nodes.idOf(at[3 * k + 1], at[3 * k + 2]);
      found.add(last, id, vanish);
      last = id;
    }
    found.add(last, nodes.idOf(e[4 * i + 2], e[4 * i + 3]), vanish);
  }
  return found;
};

/** Of every piece the lower and the upper end by the coordinate `c`. */
const extent = (pieces: Pieces, c: Int32Array): [low: Int32Array, high: Int32Array] => {
  const low = new Int32Array(pieces.count);
  const high = new Int32Array(pieces.count);
  for (let s = 0; s < pieces.count; s++) {
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    low[s] = u < v ? u : v;
    high[s] = u < v ? v : u;
  }
  return [low, high];
};

/** Lists of the pieces that cross each of `bands` bands of the coordinate `c`. */
const banded = (pieces: Pieces, c: Int32Array, bands: number, low: number, size: number) => {
  const start = new Int32Array(bands + 1);
  const bandOf = (v: number): number => Math.min(bands - 1, Math.max(0, Math.floor((v - low) / size)));
  for (let s = 0; s < pieces.count; s++) {
    if (pieces.net[s] === 0) continue;
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    const b1 = bandOf(Math.max(u, v));
    for (let b = bandOf(Math.min(u, v)); b <= b1; b++) start[b + 1] = start[b + 1] + 1;
  }
  for (let b = 0; b < bands; b++) start[b + 1] = start[b + 1] + start[b];
  const list = new Int32Array(start[bands]);
  const fill = start.slice(0, bands);
  for (let s = 0; s < pieces.count; s++) {
    if (pieces.net[s] === 0) continue;
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    const b1 = bandOf(Math.max(u, v));
    for (let b = bandOf(Math.min(u, v)); b <= b1; b++) {
      const at = fill[b];
      list[at] = s;
      fill[b] = at + 1;
    }
  }
  return { start, list, bandOf };
};

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
