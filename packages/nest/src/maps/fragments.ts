import { doubled, hashOf } from "./growing.ts";

/** The fragments of edges between crossings, equal ones merged. */
export class Fragments {
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
