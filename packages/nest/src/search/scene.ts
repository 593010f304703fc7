// Pieces on sheets, overlaps allowed, and the one move of the search: a piece goes where its weighted overlap is least.
//
// Loss of a pair: (depth + a little) * sqrt(lambda * lambda). The little makes every overlap worth removing wholly; the
// lambdas keep the search from parking overlap on large shapes. Concave losses (square root of depth) were 2 points worse.
import { TOUCH } from "../start/bed.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import { Chance } from "./chance.ts";
import { depthAt, exitAt } from "../maps/depth.ts";
import type { Box } from "../shapes/ring.ts";

/** How widely a move looks. */
export interface Reach {
  /** Places tried anywhere on the sheets. */
  readonly anywhere: number;
  /** Places tried near where the piece lies. */
  readonly nearby: number;
}

/** Overlap that any collision costs beyond its depth, in parts of the mean diameter: 0.001 to 0.01 do, 0.05 is worse. */
const LITTLE = 0.003;
/** Places kept for refining. */
const KEPT = 3;

/** Columns, and rows, that sort out most of the others before any comparison. */
const BANDS = 64;

/** Lines followed to a place that just touches. */
const SNAPS = 5;
/** Sine of an angle below which two lines are taken for parallel: their meeting point is far away or nowhere. */
const PARALLEL = 0.02;

const AROUND = [0, 0, 1, 0, -1, 0, 0, 1, 0, -1, 1, 1, -1, 1, 1, -1, -1, -1];

export class Scene {
  readonly catalogue: Catalogue;
  readonly chance: Chance;
  /** Number of movable pieces. */
  readonly n: number;
  readonly kind: Int32Array;
  readonly pose: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly sheet: Int32Array;
  /** Field of each sheet; sheets are equal but for this. */
  readonly fieldOf: readonly number[];
  /** Per sheet and pose: where the origin may lie. The strip search narrows it. */
  readonly inner: Box[][];
  /** Sheets that moves do not lead to, but for pieces that lie there already. */
  shut: ReadonlySet<number> = new Set();
  readonly members: Int32Array[];
  readonly count: Int32Array;
  /** Columns of the two matrices: pieces, then obstacles. */
  readonly wide: number;
  readonly loss: Float64Array;
  readonly weight: Float64Array;
  /** Unweighted loss of all pairs. */
  evaluations = 0;
  moves = 0;

  readonly #slot: Int32Array;
  readonly #lambda: Float64Array;
  readonly #reach: Float64Array;
  readonly #side: Float64Array;
  #others = 0;
  /** Columns and rows of the sheet with the others (as bits) that begin before their far edge or end after their near one. */
  #words = 1;
  readonly #begunX: Int32Array;
  readonly #openX: Int32Array;
  readonly #begunY: Int32Array;
  readonly #openY: Int32Array;
  #lowX = 0;
  #lowY = 0;
  #perX = 0;
  #perY = 0;
  readonly #oPiece: Int32Array;
  readonly #oPose: Int32Array;
  readonly #oX: Float64Array;
  readonly #oY: Float64Array;
  readonly #oMinX: Float64Array;
  readonly #oMaxX: Float64Array;
  readonly #oMinY: Float64Array;
  readonly #oMaxY: Float64Array;
  readonly #oWeight: Float64Array;
  readonly #oLittle: Float64Array;
  #preparedSheet = -1;
  readonly #best = new Float64Array(KEPT * 5);
  /** Place and loss that the last `#refine` found. */
  #rx = 0;
  #ry = 0;
  #rl = 0;
  /** Where `exitAt` leaves its answer. */
  readonly #exit = new Float64Array(2);

  constructor(catalogue: Catalogue, kinds: readonly number[], fieldOf: readonly number[], seed: number) {
    this.catalogue = catalogue;
    this.chance = new Chance(seed);
    const n = kinds.length;
    this.n = n;
    this.kind = Int32Array.from(kinds);
    this.pose = new Int32Array(n);
    this.x = new Float64Array(n);
    this.y = new Float64Array(n);
    this.sheet = new Int32Array(n);
    this.fieldOf = fieldOf;
    this.inner = fieldOf.map((f) => catalogue.inner[f]);
    this.members = fieldOf.map(() => new Int32Array(n));
    this.count = new Int32Array(fieldOf.length);
    const obstacles = Math.max(0, ...fieldOf.map((f) => (catalogue.obstacles[f] ?? []).length));
    this.wide = n + obstacles;
    this.loss = new Float64Array(n * this.wide);
    this.weight = new Float64Array(n * this.wide).fill(1);
    this.#slot = new Int32Array(n);
    this.#lambda = Float64Array.from(catalogue.lambda);
    this.#reach = Float64Array.from(catalogue.diameter, (d) => (d * LITTLE) / 2);
    this.#side = Float64Array.from(catalogue.poses, (p) => Math.min(p.box.maxX - p.box.minX, p.box.maxY - p.box.minY));
    const m = n + obstacles;
    const bits = BANDS * ((m + 31) >> 5);
    this.#begunX = new Int32Array(bits);
    this.#openX = new Int32Array(bits);
    this.#begunY = new Int32Array(bits);
    this.#openY = new Int32Array(bits);
    this.#oPiece = new Int32Array(m);
    this.#oPose = new Int32Array(m);
    this.#oX = new Float64Array(m);
    this.#oY = new Float64Array(m);
    this.#oMinX = new Float64Array(m);
    this.#oMaxX = new Float64Array(m);
    this.#oMinY = new Float64Array(m);
    this.#oMaxY = new Float64Array(m);
    this.#oWeight = new Float64Array(m);
    this.#oLittle = new Float64Array(m);
  }

  /** Lays piece `i`, losses not yet counted. */
  put(i: number, sheet: number, pose: number, x: number, y: number): void {
    this.sheet[i] = sheet;
    this.pose[i] = pose;
    this.x[i] = x;
    this.y[i] = y;
    const at = this.count[sheet];
    this.members[sheet][at] = i;
    this.#slot[i] = at;
    this.count[sheet] = at + 1;
  }

  /** Takes piece `i` off its sheet. */
  take(i: number): void {
    this.#leave(i);
    const { n, wide, loss } = this;
    for (let j = 0; j < wide; j++) {
      loss[i * wide + j] = 0;
      if (j < n) loss[j * wide + i] = 0;
    }
    this.sheet[i] = -1;
  }

  /** All weights back to 1. */
  forget(): void {
    this.weight.fill(1);
  }

  #leave(i: number): void {
    const sheet = this.sheet[i];
    const list = this.members[sheet];
    const last = this.count[sheet] - 1;
    const moved = list[last];
    const at = this.#slot[i];
    list[at] = moved;
    this.#slot[moved] = at;
    this.count[sheet] = last;
  }

  /** Counts all losses anew. */
  recount(): void {
    this.loss.fill(0);
    for (let i = 0; i < this.n; i++) this.settle(i);
  }

  /** Unweighted loss of all pairs; pieces on different sheets have none. */
  total(): number {
    let sum = 0;
    const { n, wide, loss } = this;
    for (let s = 0; s < this.fieldOf.length; s++) {
      const list = this.members[s];
      const m = this.count[s];
      for (let a = 0; a < m; a++) {
        const row = list[a] * wide;
        for (let b = 0; b < a; b++) sum += loss[row + list[b]];
        for (let j = n; j < wide; j++) sum += loss[row + j];
      }
    }
    return sum;
  }

  weighted(i: number): number {
    let sum = 0;
    const { n, wide, loss, weight } = this;
    const row = i * wide;
    const sheet = this.sheet[i];
    const list = this.members[sheet];
    for (let b = 0; b < this.count[sheet]; b++) {
      const at = row + list[b];
      const l = loss[at];
      if (l > 0) sum += l * weight[at];
    }
    for (let j = n; j < wide; j++) sum += loss[row + j] * weight[row + j];
    return sum;
  }

  collides(i: number): boolean {
    const { n, wide, loss } = this;
    const row = i * wide;
    const sheet = this.sheet[i];
    const list = this.members[sheet];
    for (let b = 0; b < this.count[sheet]; b++) if (loss[row + list[b]] > 0) return true;
    for (let j = n; j < wide; j++) if (loss[row + j] > 0) return true;
    return false;
  }

  /** Heavier where it still collides, lighter where not: what stays in the way gets expensive. */
  reweigh(): void {
    const { n, wide, loss, weight } = this;
    let most = 0;
    for (let s = 0; s < this.fieldOf.length; s++) {
      const list = this.members[s];
      const m = this.count[s];
      for (let a = 0; a < m; a++) {
        const row = list[a] * wide;
        for (let b = 0; b < a; b++) most = Math.max(most, loss[row + list[b]]);
        for (let j = n; j < wide; j++) most = Math.max(most, loss[row + j]);
      }
    }
    if (most === 0) return;
    const next = (at: number): number => {
      const l = loss[at];
      const w = weight[at];
      return l > 0 ? w * (1.2 + (0.8 * l) / most) : w > 1 ? Math.max(1, w * 0.95) : 1;
    };
    for (let s = 0; s < this.fieldOf.length; s++) {
      const list = this.members[s];
      const m = this.count[s];
      for (let a = 0; a < m; a++) {
        const i = list[a];
        const row = i * wide;
        for (let b = 0; b < a; b++) {
          const j = list[b];
          const w = next(row + j);
          weight[row + j] = w;
          weight[j * wide + i] = w;
        }
        for (let j = n; j < wide; j++) weight[row + j] = next(row + j);
      }
    }
  }

  #prepare(i: number, sheet: number): void {
    const c = this.catalogue;
    const { minX, minY, maxX, maxY } = c;
    const gap = c.options.clearance;
    const list = this.members[sheet];
    const row = i * this.wide;
    const k = this.kind[i];
    const lambda = this.#lambda[k];
    const reach = this.#reach[k];
    let m = 0;
    const add = (piece: number, kind: number, pose: number, px: number, py: number): void => {
      this.#oPiece[m] = piece;
      this.#oPose[m] = pose;
      this.#oX[m] = px;
      this.#oY[m] = py;
      this.#oMinX[m] = px + minX[pose] - gap;
      this.#oMaxX[m] = px + maxX[pose] + gap;
      this.#oMinY[m] = py + minY[pose] - gap;
      this.#oMaxY[m] = py + maxY[pose] + gap;
      this.#oWeight[m] = this.weight[row + piece] * lambda * this.#lambda[kind];
      this.#oLittle[m] = reach + this.#reach[kind];
      m++;
    };
    for (let q = 0; q < this.count[sheet]; q++) {
      const j = list[q];
      if (j !== i) add(j, this.kind[j], this.pose[j], this.x[j], this.y[j]);
    }
    (c.obstacles[this.fieldOf[sheet]] ?? []).forEach((o, q) => {
      add(this.n + q, c.poses[o.pose].kind, o.pose, o.x, o.y);
    });
    this.#others = m;
    this.#preparedSheet = sheet;
    this.#band();
  }

  #band(): void {
    const m = this.#others;
    const words = Math.max(1, (m + 31) >> 5);
    this.#words = words;
    let lowX = Infinity;
    let highX = -Infinity;
    let lowY = Infinity;
    let highY = -Infinity;
    for (let k = 0; k < m; k++) {
      lowX = Math.min(lowX, this.#oMinX[k]);
      highX = Math.max(highX, this.#oMaxX[k]);
      lowY = Math.min(lowY, this.#oMinY[k]);
      highY = Math.max(highY, this.#oMaxY[k]);
    }
    this.#lowX = lowX;
    this.#lowY = lowY;
    this.#perX = BANDS / (highX - lowX + 1);
    this.#perY = BANDS / (highY - lowY + 1);
    const mark = (
      begun: Int32Array,
      open: Int32Array,
      from: Float64Array,
      to: Float64Array,
      low: number,
      per: number,
    ): void => {
      const end = BANDS * words;
      begun.fill(0, 0, end);
      open.fill(0, 0, end);
      for (let k = 0; k < m; k++) {
        const bit = 1 << (k & 31);
        const b = ((from[k] - low) * per) | 0;
        const o = ((to[k] - low) * per) | 0;
        const at = b * words + (k >> 5);
        begun[at] = begun[at] | bit;
        const until = o * words + (k >> 5);
        open[until] = open[until] | bit;
      }
      for (let q = words; q < end; q++) begun[q] = begun[q] | begun[q - words];
      for (let q = end - words - 1; q >= 0; q--) open[q] = open[q] | open[q + words];
    };
    mark(this.#begunX, this.#openX, this.#oMinX, this.#oMaxX, lowX, this.#perX);
    mark(this.#begunY, this.#openY, this.#oMinY, this.#oMaxY, lowY, this.#perY);
  }

  /** Weighted loss at a place of the prepared sheet; may stop once it reaches `limit`. */
  #at(pose: number, px: number, py: number, limit: number): number {
    this.evaluations++;
    const c = this.catalogue;
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    const words = this.#words;
    const bx0 = (x0 - this.#lowX) * this.#perX;
    const bx1 = (x1 - this.#lowX) * this.#perX;
    const by0 = (y0 - this.#lowY) * this.#perY;
    const by1 = (y1 - this.#lowY) * this.#perY;
    if (this.#others === 0 || bx0 >= BANDS || by0 >= BANDS || bx1 < 0 || by1 < 0) return 0;
    const beginX = (bx1 < BANDS ? bx1 | 0 : BANDS - 1) * words;
    const endX = (bx0 > 0 ? bx0 | 0 : 0) * words;
    const beginY = (by1 < BANDS ? by1 | 0 : BANDS - 1) * words;
    const endY = (by0 > 0 ? by0 | 0 : 0) * words;
    const oMinX = this.#oMinX;
    const oMaxX = this.#oMaxX;
    const oMinY = this.#oMinY;
    const oMaxY = this.#oMaxY;
    const poses = c.poses.length;
    const t = c.pairTurn;
    let sum = 0;
    for (let w = 0; w < words; w++) {
      let bits = this.#begunX[beginX + w] & this.#openX[endX + w] & this.#begunY[beginY + w] & this.#openY[endY + w];
      while (bits !== 0) {
        const low = bits & -bits;
        bits ^= low;
        const k = (w << 5) + 31 - Math.clz32(low);
        if (oMaxX[k] <= x0 || oMinX[k] >= x1) continue;
        if (oMaxY[k] <= y0 || oMinY[k] >= y1) continue;
        const at = this.#oPose[k] * poses + pose;
        let map = c.pairMap[at];
        if (map < 0) map = c.pair(this.#oPose[k], pose);
        const dx = px - this.#oX[k];
        const dy = py - this.#oY[k];
        const q = 4 * at;
        const d = depthAt(c.maps[map], t[q] * dx + t[q + 1] * dy, t[q + 2] * dx + t[q + 3] * dy);
        if (d > TOUCH) {
          sum += this.#oWeight[k] * (d + this.#oLittle[k]);
          if (sum >= limit) return sum;
        }
      }
    }
    return sum;
  }

  /** Writes the losses of piece `i` where it lies now. `prepared`: its sheet is the one prepared for it. */
  settle(i: number, prepared = false): void {
    const { n, wide, loss } = this;
    const row = i * wide;
    for (let j = 0; j < wide; j++) {
      if (loss[row + j] === 0) continue;
      loss[row + j] = 0;
      if (j < n) loss[j * wide + i] = 0;
    }
    if (!prepared) this.#prepare(i, this.sheet[i]);
    const c = this.catalogue;
    const pose = this.pose[i];
    const px = this.x[i];
    const py = this.y[i];
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    for (let k = 0; k < this.#others; k++) {
      if (this.#oMaxX[k] <= x0 || this.#oMinX[k] >= x1) continue;
      if (this.#oMaxY[k] <= y0 || this.#oMinY[k] >= y1) continue;
      const d = c.depth(this.#oPose[k], pose, px - this.#oX[k], py - this.#oY[k]);
      if (d <= TOUCH) continue;
      const j = this.#oPiece[k];
      const l = (this.#oWeight[k] / this.weight[row + j]) * (d + this.#oLittle[k]);
      loss[row + j] = l;
      if (j < n) loss[j * wide + i] = l;
    }
  }

  /** Steps along an axis or a diagonal, longer on success, half on failure, until steps are shorter than `stop`. */
  #refine(pose: number, inner: Box, fromX: number, fromY: number, fromLoss: number, start: number, stop: number): void {
    let bx = fromX;
    let by = fromY;
    let bl = fromLoss;
    let sx = start;
    let sy = start;
    const chance = this.chance;
    let axis = chance.below(4);
    while (bl > 0 && (axis === 0 ? sx : axis === 1 ? sy : Math.max(sx, sy)) > stop) {
      const dx = axis === 1 ? 0 : sx;
      const dy = axis === 0 ? 0 : axis === 3 ? -sy : sy;
      let px = bx + dx;
      let py = by + dy;
      px = px < inner.minX ? inner.minX : px > inner.maxX ? inner.maxX : px;
      py = py < inner.minY ? inner.minY : py > inner.maxY ? inner.maxY : py;
      const plus = this.#at(pose, px, py, bl);
      let qx = bx - dx;
      let qy = by - dy;
      qx = qx < inner.minX ? inner.minX : qx > inner.maxX ? inner.maxX : qx;
      qy = qy < inner.minY ? inner.minY : qy > inner.maxY ? inner.maxY : qy;
      const minus = this.#at(pose, qx, qy, plus < bl ? plus : bl);
      let factor: number;
      if (plus < bl || minus < bl) {
        if (minus < plus) {
          bx = qx;
          by = qy;
          bl = minus;
        } else {
          bx = px;
          by = py;
          bl = plus;
        }
        factor = 1.1;
      } else factor = 0.5;
      if (axis === 0) sx *= factor;
      else if (axis === 1) sy *= factor;
      else {
        const root = factor > 1 ? 1.0488 : 0.7071;
        sx *= root;
        sy *= root;
      }
      if (factor < 1) axis = chance.below(4);
    }
    this.#rx = bx;
    this.#ry = by;
    this.#rl = bl;
  }

  #offer(loss: number, sheet: number, pose: number, x: number, y: number): void {
    const best = this.#best;
    const near = this.#side[pose] * 0.05;
    let worst = 0;
    for (let k = 0; k < KEPT; k++) {
      const b = 5 * k;
      if (
        best[b + 1] === sheet &&
        best[b + 2] === pose &&
        Math.abs(best[b + 3] - x) < near &&
        Math.abs(best[b + 4] - y) < near &&
        best[b] < Infinity
      ) {
        if (loss < best[b]) {
          best[b] = loss;
          best[b + 3] = x;
          best[b + 4] = y;
        }
        return;
      }
      if (best[b] > best[5 * worst]) worst = k;
    }
    const w = 5 * worst;
    if (loss >= best[w]) return;
    best[w] = loss;
    best[w + 1] = sheet;
    best[w + 2] = pose;
    best[w + 3] = x;
    best[w + 4] = y;
  }

  #limit(): number {
    const b = this.#best;
    return Math.max(b[0], b[5], b[10]);
  }

  /** Moves piece `i` to the best place found; its weighted loss never grows. True if it moved. */
  move(i: number, reach: Reach): boolean {
    this.moves++;
    const { chance, catalogue, best } = { chance: this.chance, catalogue: this.catalogue, best: this.#best };
    const kind = this.kind[i];
    const home = this.sheet[i];
    const homePose = this.pose[i];
    const hx = this.x[i];
    const hy = this.y[i];
    const before = this.weighted(i);
    best.fill(Infinity);
    this.#prepare(i, home);
    this.#offer(before, home, homePose, hx, hy);
    // Near by: within the piece's own box, any turn.
    const homePoses = catalogue.posesOn[this.fieldOf[home]][kind];
    const boxes = this.inner[home];
    const w = catalogue.maxX[homePose] - catalogue.minX[homePose];
    const h = catalogue.maxY[homePose] - catalogue.minY[homePose];
    const midX = hx + (catalogue.maxX[homePose] + catalogue.minX[homePose]) / 2;
    const midY = hy + (catalogue.maxY[homePose] + catalogue.minY[homePose]) / 2;
    for (let s = 0; s < reach.nearby; s++) {
      const pose = homePoses[homePoses.length === 1 ? 0 : chance.below(homePoses.length)];
      const inner = boxes[pose];
      if (inner.maxX < inner.minX || inner.maxY < inner.minY) continue;
      let px = midX + (chance.unit() - 0.5) * w - (catalogue.maxX[pose] + catalogue.minX[pose]) / 2;
      let py = midY + (chance.unit() - 0.5) * h - (catalogue.maxY[pose] + catalogue.minY[pose]) / 2;
      px = px < inner.minX ? inner.minX : px > inner.maxX ? inner.maxX : px;
      py = py < inner.minY ? inner.minY : py > inner.maxY ? inner.maxY : py;
      const limit = this.#limit();
      const l = this.#at(pose, px, py, limit);
      if (l < limit) this.#offer(l, home, pose, px, py);
    }
    const sheets = this.fieldOf.length;
    const perSheet = Math.max(1, Math.ceil(reach.anywhere / sheets));
    const tried = sheets === 1 ? 1 : Math.min(sheets, 3);
    for (let round = 0; round < tried; round++) {
      const sheet = round === 0 ? home : chance.below(sheets);
      if (sheet !== home && this.shut.has(sheet)) continue;
      if (round > 0 && sheet !== home) this.#prepare(i, sheet);
      const poses = catalogue.posesOn[this.fieldOf[sheet]][kind];
      const places = this.inner[sheet];
      const samples = sheets === 1 ? reach.anywhere : Math.max(perSheet, Math.ceil(reach.anywhere / tried));
      for (let s = 0; s < samples; s++) {
        const pose = poses[poses.length === 1 ? 0 : chance.below(poses.length)];
        const inner = places[pose];
        if (inner.maxX < inner.minX || inner.maxY < inner.minY) continue;
        const px = inner.minX + chance.unit() * (inner.maxX - inner.minX);
        const py = inner.minY + chance.unit() * (inner.maxY - inner.minY);
        const limit = this.#limit();
        const l = this.#at(pose, px, py, limit);
        if (l < limit) this.#offer(l, sheet, pose, px, py);
      }
    }
    // Refine the kept ones roughly, then the best one finely.
    let winner = -1;
    let least = before;
    for (let k = 0; k < KEPT; k++) {
      const b = 5 * k;
      if (!(best[b] < Infinity)) continue;
      const sheet = best[b + 1];
      const pose = best[b + 2];
      if (this.#preparedSheet !== sheet) this.#prepare(i, sheet);
      const side = this.#side[pose];
      this.#refine(pose, this.inner[sheet][pose], best[b + 3], best[b + 4], best[b], side * 0.25, side * 0.02);
      best[b] = this.#rl;
      best[b + 3] = this.#rx;
      best[b + 4] = this.#ry;
      if (this.#rl < least || (winner < 0 && this.#rl <= least)) {
        least = this.#rl;
        winner = k;
      }
    }
    if (winner < 0) return false;
    const b = 5 * winner;
    const sheet = best[b + 1];
    const pose = best[b + 2];
    const inner = this.inner[sheet][pose];
    if (this.#preparedSheet !== sheet) this.#prepare(i, sheet);
    const side = this.#side[pose];
    this.#refine(pose, inner, best[b + 3], best[b + 4], least, side * 0.01, side * 0.001);
    if (this.#rl > 0) this.#snap(pose, inner, side * 0.02);
    this.#round(pose, inner);
    if (!(this.#rl < before)) return false;
    this.#leave(i);
    this.put(i, sheet, pose, this.#rx, this.#ry);
    // The others of that sheet are at hand from the last look.
    this.settle(i, true);
    return true;
  }

  /**
   * Places that just touch, next to the refined one: steps come near an exact fit but never upon it. From overlap to
   * overlap, the deepest first, to the line on which it ends, and to where that line meets the one before or the edge of
   * where the piece may lie. Nothing deeper than `most` is gone after, nor farther than that.
   */
  #snap(pose: number, inner: Box, most: number): void {
    const way = this.#exit;
    const fromX = this.#rx;
    const fromY = this.#ry;
    let px = fromX;
    let py = fromY;
    // The line before: points p with lx * px + ly * py = at.
    let lx = 0;
    let ly = 0;
    let at = 0;
    for (let step = 0; step < SNAPS && this.#wayOut(pose, px, py, most); step++) {
      const length = Math.hypot(way[0], way[1]);
      if (length === 0) return;
      const nx = way[0] / length;
      const ny = way[1] / length;
      const offset = nx * px + ny * py + length;
      const cross = lx * ny - ly * nx;
      const meet = Math.abs(cross) > PARALLEL;
      let tx = meet ? (at * ny - ly * offset) / cross : px + nx * length;
      let ty = meet ? (lx * offset - at * nx) / cross : py + ny * length;
      lx = nx;
      ly = ny;
      at = offset;
      // Beyond the edge: along the line back to it.
      if (tx < inner.minX || tx > inner.maxX) {
        tx = tx < inner.minX ? inner.minX : inner.maxX;
        if (Math.abs(ny) > PARALLEL) ty = (offset - nx * tx) / ny;
      }
      if (ty < inner.minY || ty > inner.maxY) {
        ty = ty < inner.minY ? inner.minY : inner.maxY;
        if (Math.abs(nx) > PARALLEL) tx = (offset - ny * ty) / nx;
        if (tx < inner.minX || tx > inner.maxX) return;
      }
      if (Math.abs(tx - fromX) > most || Math.abs(ty - fromY) > most) return;
      px = tx;
      py = ty;
      const loss = this.#at(pose, px, py, this.#rl);
      if (loss < this.#rl) {
        this.#rx = px;
        this.#ry = py;
        this.#rl = loss;
        if (loss === 0) return;
      }
    }
  }

  /** The way out of the deepest overlap at a place of the prepared sheet, left in `#exit`; false where none is needed or known. */
  #wayOut(pose: number, px: number, py: number, most: number): boolean {
    const c = this.catalogue;
    const t = c.pairTurn;
    const out = this.#exit;
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    let deepest = TOUCH;
    let nx = 0;
    let ny = 0;
    for (let k = 0; k < this.#others; k++) {
      if (this.#oMaxX[k] <= x0 || this.#oMinX[k] >= x1) continue;
      if (this.#oMaxY[k] <= y0 || this.#oMinY[k] >= y1) continue;
      const u = this.#oPose[k];
      const map = c.maps[c.pair(u, pose)];
      const q = 4 * (u * c.poses.length + pose);
      const [a, b, e, f] = [t[q], t[q + 1], t[q + 2], t[q + 3]];
      const dx = px - this.#oX[k];
      const dy = py - this.#oY[k];
      const mx = a * dx + b * dy;
      const my = e * dx + f * dy;
      const depth = depthAt(map, mx, my);
      if (depth <= deepest) continue;
      if (depth > most || !exitAt(map, mx, my, depth, out)) return false;
      deepest = depth;
      const vx = out[0] - mx;
      const vy = out[1] - my;
      // The matrix turns and mirrors, so that its transpose leads back.
      nx = a * vx + e * vy;
      ny = b * vx + f * vy;
    }
    out[0] = nx;
    out[1] = ny;
    return deepest > TOUCH;
  }

  /** The best place in whole micrometres next to the refined one. */
  #round(pose: number, inner: Box): void {
    const rx = Math.round(this.#rx);
    const ry = Math.round(this.#ry);
    let least = Infinity;
    let bx = rx;
    let by = ry;
    for (let k = 0; k < AROUND.length && least > 0; k += 2) {
      const px = rx + AROUND[k];
      const py = ry + AROUND[k + 1];
      if (px < inner.minX || px > inner.maxX || py < inner.minY || py > inner.maxY) continue;
      const l = this.#at(pose, px, py, least);
      if (l < least) {
        least = l;
        bx = px;
        by = py;
      }
      // Only a clear place is worth the neighbours.
      if (this.#rl > 0 && k === 0) break;
    }
    this.#rx = bx;
    this.#ry = by;
    this.#rl = least;
  }

  /** Where everything lies, to come back to. */
  save(): Saved {
    return {
      pose: this.pose.slice(),
      x: this.x.slice(),
      y: this.y.slice(),
      sheet: this.sheet.slice(),
      loss: this.loss.slice(),
    };
  }

  restore(saved: Saved): void {
    this.count.fill(0);
    for (let i = 0; i < this.n; i++)
      if (saved.sheet[i] < 0) this.sheet[i] = -1;
      else this.put(i, saved.sheet[i], saved.pose[i], saved.x[i], saved.y[i]);
    this.loss.set(saved.loss);
  }

  /** Lays piece `i` elsewhere and counts its losses. */
  shift(i: number, sheet: number, pose: number, x: number, y: number): void {
    this.#leave(i);
    const inner = this.inner[sheet][pose];
    this.put(
      i,
      sheet,
      pose,
      Math.round(Math.min(inner.maxX, Math.max(inner.minX, x))),
      Math.round(Math.min(inner.maxY, Math.max(inner.minY, y))),
    );
    this.settle(i);
  }
}

export interface Saved {
  readonly pose: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly sheet: Int32Array;
  readonly loss: Float64Array;
}
