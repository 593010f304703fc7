import type { Catalogue } from "../maps/catalogue.ts";
import { depthAt, exitAt } from "../maps/depth.ts";
import { TOUCH } from "../start/bed.ts";
import { Band, BANDS } from "./band.ts";
import type { Pieces } from "./pieces.ts";

/** Overlap that any collision costs beyond its depth, in parts of the mean diameter: 0.001 to 0.01 do, 0.05 is worse. */
const LITTLE = 0.003;

/**
 * What lies on the sheet to which a piece may go, in columns: asked thousands of times a move how much the piece would lose
 * at a place.
 *
 * Loss of a pair: (depth + a little) * sqrt(lambda * lambda). The little makes every overlap worth removing wholly; the
 * lambdas keep the search from parking overlap on large shapes. Concave losses (square root of depth) were 2 points worse.
 */
export class Neighbours {
  readonly catalogue: Catalogue;
  /** Sheet gathered last; -1: none. */
  sheet = -1;
  /** Places looked at, all moves together. */
  evaluations = 0;
  /** Where `wayOut` leaves its answer. */
  readonly exit = new Float64Array(2);
  count = 0;
  readonly piece: Int32Array;
  readonly pose: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Boxes, clearance included. */
  readonly minX: Float64Array;
  readonly maxX: Float64Array;
  readonly minY: Float64Array;
  readonly maxY: Float64Array;
  readonly weight: Float64Array;
  readonly little: Float64Array;
  readonly #lambda: Float64Array;
  readonly #reach: Float64Array;
  #words = 1;
  readonly #across: Band;
  readonly #upward: Band;

  /** `most`: pieces and obstacles that a sheet may hold. */
  constructor(catalogue: Catalogue, most: number) {
    this.catalogue = catalogue;
    this.#lambda = Float64Array.from(catalogue.lambda);
    this.#reach = Float64Array.from(catalogue.diameter, (d) => (d * LITTLE) / 2);
    this.#across = new Band(most);
    this.#upward = new Band(most);
    this.piece = new Int32Array(most);
    this.pose = new Int32Array(most);
    this.x = new Float64Array(most);
    this.y = new Float64Array(most);
    this.minX = new Float64Array(most);
    this.maxX = new Float64Array(most);
    this.minY = new Float64Array(most);
    this.maxY = new Float64Array(most);
    this.weight = new Float64Array(most);
    this.little = new Float64Array(most);
  }

  /** Turns to another sheet: all that lies there, but piece `i`, and its obstacles. */
  gather(pieces: Pieces, i: number, sheet: number): void {
    const c = this.catalogue;

    const gap = c.options.clearance;
    const list = pieces.members[sheet];
    const row = i * pieces.wide;
    const k = pieces.kind[i];
    const lambda = this.#lambda[k];
    const reach = this.#reach[k];
    let m = 0;
    const add = (piece: number, kind: number, pose: number, px: number, py: number): void => {
      this.piece[m] = piece;
      this.pose[m] = pose;
      this.x[m] = px;
      this.y[m] = py;
      this.minX[m] = px + c.minX[pose] - gap;
      this.maxX[m] = px + c.maxX[pose] + gap;
      this.minY[m] = py + c.minY[pose] - gap;
      this.maxY[m] = py + c.maxY[pose] + gap;
      this.weight[m] = pieces.weight[row + piece] * lambda * this.#lambda[kind];
      this.little[m] = reach + this.#reach[kind];
      m++;
    };
    for (let q = 0; q < pieces.count[sheet]; q++) {
      const j = list[q];
      if (j !== i) add(j, pieces.kind[j], pieces.pose[j], pieces.x[j], pieces.y[j]);
    }
    (c.obstacles[pieces.fieldOf[sheet]] ?? []).forEach((o, q) => {
      add(pieces.n + q, c.poses[o.pose].kind, o.pose, o.x, o.y);
    });
    this.count = m;
    this.sheet = sheet;
    this.#words = Math.max(1, (m + 31) >> 5);
    this.#across.mark(this.minX, this.maxX, m, this.#words);
    this.#upward.mark(this.minY, this.maxY, m, this.#words);
  }

  /** Weighted loss at a place of the sheet gathered last; may stop once it reaches `limit`. */
  loss(pose: number, px: number, py: number, limit: number): number {
    this.evaluations++;
    const c = this.catalogue;
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    const words = this.#words;
    const across = this.#across;
    const upward = this.#upward;
    const bx0 = (x0 - across.low) * across.per;
    const bx1 = (x1 - across.low) * across.per;
    const by0 = (y0 - upward.low) * upward.per;
    const by1 = (y1 - upward.low) * upward.per;
    if (this.count === 0 || bx0 >= BANDS || by0 >= BANDS || bx1 < 0 || by1 < 0) return 0;
    const beginX = (bx1 < BANDS ? bx1 | 0 : BANDS - 1) * words;
    const endX = (bx0 > 0 ? bx0 | 0 : 0) * words;
    const beginY = (by1 < BANDS ? by1 | 0 : BANDS - 1) * words;
    const endY = (by0 > 0 ? by0 | 0 : 0) * words;
    const { begun: begunX, open: openX } = across;
    const { begun: begunY, open: openY } = upward;
    const oMinX = this.minX;
    const oMaxX = this.maxX;
    const oMinY = this.minY;
    const oMaxY = this.maxY;
    const poses = c.poses.length;
    const t = c.pairTurn;
    let sum = 0;
    for (let w = 0; w < words; w++) {
      let bits = begunX[beginX + w] & openX[endX + w] & begunY[beginY + w] & openY[endY + w];
      while (bits !== 0) {
        const low = bits & -bits;
        bits ^= low;
        const k = (w << 5) + 31 - Math.clz32(low);
        if (oMaxX[k] <= x0 || oMinX[k] >= x1) continue;
        if (oMaxY[k] <= y0 || oMinY[k] >= y1) continue;
        const at = this.pose[k] * poses + pose;
        let map = c.pairMap[at];
        if (map < 0) map = c.pair(this.pose[k], pose);
        const dx = px - this.x[k];
        const dy = py - this.y[k];
        const q = 4 * at;
        const d = depthAt(c.maps[map], t[q] * dx + t[q + 1] * dy, t[q + 2] * dx + t[q + 3] * dy);
        if (d > TOUCH) {
          sum += this.weight[k] * (d + this.little[k]);
          if (sum >= limit) return sum;
        }
      }
    }
    return sum;
  }

  /** Writes the losses of piece `i`, whose sheet was gathered last, where it lies now. */
  settle(pieces: Pieces, i: number): void {
    const { n, wide, loss } = pieces;
    const row = i * wide;
    for (let j = 0; j < wide; j++) {
      if (loss[row + j] === 0) continue;
      loss[row + j] = 0;
      if (j < n) loss[j * wide + i] = 0;
    }
    const c = this.catalogue;
    const pose = pieces.pose[i];
    const px = pieces.x[i];
    const py = pieces.y[i];
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    for (let k = 0; k < this.count; k++) {
      if (this.maxX[k] <= x0 || this.minX[k] >= x1) continue;
      if (this.maxY[k] <= y0 || this.minY[k] >= y1) continue;
      const d = c.depth(this.pose[k], pose, px - this.x[k], py - this.y[k]);
      if (d <= TOUCH) continue;
      const j = this.piece[k];
      const l = (this.weight[k] / pieces.weight[row + j]) * (d + this.little[k]);
      loss[row + j] = l;
      if (j < n) loss[j * wide + i] = l;
    }
  }

  /** The way out of the deepest overlap at a place of the sheet gathered last, left in `exit`; false where none is needed or known. */
  wayOut(pose: number, px: number, py: number, most: number): boolean {
    const c = this.catalogue;
    const t = c.pairTurn;
    const out = this.exit;
    const x0 = px + c.minX[pose];
    const x1 = px + c.maxX[pose];
    const y0 = py + c.minY[pose];
    const y1 = py + c.maxY[pose];
    let deepest = TOUCH;
    let nx = 0;
    let ny = 0;
    for (let k = 0; k < this.count; k++) {
      if (this.maxX[k] <= x0 || this.minX[k] >= x1) continue;
      if (this.maxY[k] <= y0 || this.minY[k] >= y1) continue;
      const u = this.pose[k];
      const map = c.maps[c.pair(u, pose)];
      const q = 4 * (u * c.poses.length + pose);
      const [a, b, e, f] = [t[q], t[q + 1], t[q + 2], t[q + 3]];
      const dx = px - this.x[k];
      const dy = py - this.y[k];
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
}
