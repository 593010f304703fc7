import { ROUNDING } from "@kitforme/geometry";
import type { Catalogue } from "../maps/catalogue.ts";
import { meetings } from "./meetings.ts";

/** Depth that still counts as touching: a small part of what rounding to the micrometre moves anyway. */
export const TOUCH = ROUNDING / 20;

/** Whole steps about a rounded contact point, nearest first. */
const AROUND = [-2, -1, 0, 1, 2]
  .flatMap((i) => [-2, -1, 0, 1, 2].map((j) => [i, j] as const))
  .sort((a, b) => a[0] ** 2 + a[1] ** 2 - (b[0] ** 2 + b[1] ** 2));

export interface Spot {
  readonly pose: number;
  readonly x: number;
  readonly y: number;
}

/** What is to be small: `x` and `y` of the piece's far corner weighed, lower first. */
export type Wish = (pose: number, x: number, y: number) => number;

/** One sheet being filled piece by piece. */
export class Bed {
  readonly catalogue: Catalogue;
  readonly field: number;
  readonly spots: Spot[] = [];
  area = 0;
  /** Per pose: corners that were clear of the first `seen` pieces. */
  readonly #corners = new Map<number, { readonly points: readonly number[]; readonly seen: number }>();

  constructor(catalogue: Catalogue, field: number) {
    this.catalogue = catalogue;
    this.field = field;
    for (const o of catalogue.obstacles[field]) this.spots.push(o);
  }

  put(spot: Spot): void {
    this.spots.push(spot);
    this.area += this.catalogue.kinds[this.catalogue.poses[spot.pose].kind].area;
  }

  /** Whether no overlap here, with pieces from the one numbered `from` on, is deeper than `within`. */
  clear(pose: number, x: number, y: number, within = TOUCH, from = 0): boolean {
    const c = this.catalogue;
    const gap = c.options.clearance;
    const x0 = x + c.minX[pose] - gap;
    const x1 = x + c.maxX[pose] + gap;
    const y0 = y + c.minY[pose] - gap;
    const y1 = y + c.maxY[pose] + gap;
    for (let k = from; k < this.spots.length; k++) {
      const o = this.spots[k];
      if (o.x + c.maxX[o.pose] <= x0 || o.x + c.minX[o.pose] >= x1) continue;
      if (o.y + c.maxY[o.pose] <= y0 || o.y + c.minY[o.pose] >= y1) continue;
      if (c.depth(o.pose, pose, x - o.x, y - o.y) > within) return false;
    }
    return true;
  }

  /**
   * The place that pleases `wish` most among the corners where a piece can come to rest: on contact lines of what lies
   * already, where they meet the edge of the field, and (`thorough`) where they meet each other.
   */
  best(poses: readonly number[], wish: Wish, thorough: boolean): Spot | undefined {
    let found: Spot | undefined;
    let least = Infinity;
    for (const pose of poses) {
      const points: number[] = thorough ? this.#everywhere(pose) : this.#stillClear(pose);
      const scores: number[] = [];
      const open: number[] = [];
      for (let k = 0; k < points.length; k += 2) {
        const score = wish(pose, points[k], points[k + 1]);
        scores.push(score);
        if (score < least) open.push(k >> 1);
      }
      open.sort((a, b) => scores[a] - scores[b] || a - b);
      for (const k of open) {
        const whole = this.#whole(pose, points[2 * k], points[2 * k + 1]);
        if (!whole) continue;
        least = scores[k];
        found = whole;
        break;
      }
    }
    return found;
  }

  /** All corners for a pose, meetings of contact lines among them. */
  #everywhere(pose: number): number[] {
    const points: number[] = [];
    this.#candidates(pose, 0, true, (x, y) => points.push(x, y));
    return points;
  }

  /**
   * The corners for a pose that no piece covers, in the order in which they came. They are kept from one call to the next: a
   * new piece takes some away and adds its own. Hundreds of pieces on a sheet would cost by the cube otherwise.
   */
  #stillClear(pose: number): number[] {
    const known = this.#corners.get(pose);
    const seen = known?.seen ?? 0;
    const points: number[] = [];
    if (known) {
      for (let k = 0; k < known.points.length; k += 2) {
        const x = known.points[k];
        const y = known.points[k + 1];
        if (this.clear(pose, x, y, ROUNDING, seen)) points.push(x, y);
      }
    }
    this.#candidates(pose, seen, false, (x, y) => {
      if (this.clear(pose, x, y, ROUNDING)) points.push(x, y);
    });
    this.#corners.set(pose, { points, seen: this.spots.length });
    return points;
  }

  /** A clear place in whole micrometres next to (x, y), nearest first. */
  #whole(pose: number, x: number, y: number): Spot | undefined {
    if (!this.clear(pose, x, y, ROUNDING)) return undefined;
    const inner = this.catalogue.inner[this.field][pose];
    const rx = Math.round(x);
    const ry = Math.round(y);
    for (const [i, j] of AROUND) {
      const px = rx + i;
      const py = ry + j;
      if (px >= inner.minX && px <= inner.maxX && py >= inner.minY && py <= inner.maxY && this.clear(pose, px, py))
        return { pose, x: px, y: py };
    }
    return undefined;
  }

  /** Whether spot `s` lies in the way wherever the piece is within `half` of (x, y). */
  #hides(s: number, pose: number, x: number, y: number, half: number): boolean {
    const c = this.catalogue;
    const o = this.spots[s];
    const gap = c.options.clearance;
    const dx = x - o.x;
    const dy = y - o.y;
    if (dx + c.minX[pose] - gap >= c.maxX[o.pose]) return false;
    if (dx + c.maxX[pose] + gap <= c.minX[o.pose]) return false;
    if (dy + c.minY[pose] - gap >= c.maxY[o.pose]) return false;
    if (dy + c.maxY[pose] + gap <= c.minY[o.pose]) return false;
    const depth = c.depth(o.pose, pose, dx, dy);
    if (depth <= half) return false;
    const map = c.maps[c.pair(o.pose, pose)];
    // Between the corners of its cells the depth is known to within a cell.
    return depth > half + Math.hypot(1 / map.perX, 1 / map.perY);
  }

  /** Corners by the pieces from the one numbered `from` on; those of the field with the first. */
  #candidates(pose: number, from: number, thorough: boolean, offer: (x: number, y: number) => void): void {
    const c = this.catalogue;
    const inner = c.inner[this.field]?.[pose];
    if (!inner || inner.maxX < inner.minX || inner.maxY < inner.minY) return;
    const { minX, minY, maxX, maxY } = inner;
    if (!this.#corners.has(pose) || thorough) {
      offer(minX, minY);
      offer(minX, maxY);
      offer(maxX, minY);
      offer(maxX, maxY);
    }
    const within = (x: number, y: number): void => {
      if (x >= minX && x <= maxX && y >= minY && y <= maxY) offer(x, y);
    };
    const n = c.poses.length;
    const lines: number[] = [];
    const owner: number[] = [];
    // Most contact lines run where other pieces lie. Neighbouring ones are hidden by the same piece.
    let hider = 0;
    for (let who = from; who < this.spots.length; who++) {
      const o = this.spots[who];
      const map = c.maps[c.pair(o.pose, pose)];
      const at = 4 * (o.pose * n + pose);
      const [a, b, d, e] = c.pairTurn.subarray(at, at + 4) as unknown as [number, number, number, number];
      const k = c.contacts(o.pose, pose);
      for (let i = 0; i < k.length; i += 4) {
        const ux = k[i];
        const uy = k[i + 1];
        const vx = k[i + 2];
        const vy = k[i + 3];
        const px = o.x + a * ux + d * uy;
        const py = o.y + b * ux + e * uy;
        const qx = o.x + a * vx + d * vy;
        const qy = o.y + b * vx + e * vy;
        if (Math.max(px, qx) < minX || Math.min(px, qx) > maxX || Math.max(py, qy) < minY || Math.min(py, qy) > maxY)
          continue;
        const half = Math.hypot(qx - px, qy - py) / 2;
        const [mx, my] = [(px + qx) / 2, (py + qy) / 2];
        if (hider !== who && this.#hides(hider, pose, mx, my, half)) continue;
        let by = 0;
        while (by < this.spots.length && (by === who || !this.#hides(by, pose, mx, my, half))) by++;
        if (by < this.spots.length) {
          hider = by;
          continue;
        }
        within(px, py);
        within(qx, qy);
        // Offset corners of an opening lie too near to the next line; the middles do not.
        if (map.clearance > 0) within((px + qx) / 2, (py + qy) / 2);
        if (px < minX !== qx < minX) within(minX, py + ((minX - px) / (qx - px)) * (qy - py));
        if (px > maxX !== qx > maxX) within(maxX, py + ((maxX - px) / (qx - px)) * (qy - py));
        if (py < minY !== qy < minY) within(px + ((minY - py) / (qy - py)) * (qx - px), minY);
        if (py > maxY !== qy > maxY) within(px + ((maxY - py) / (qy - py)) * (qx - px), maxY);
        if (thorough) {
          lines.push(px, py, qx, qy);
          owner.push(who);
        }
      }
    }
    if (thorough) meetings(lines, owner, within);
  }
}
