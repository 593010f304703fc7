import { doubled, hashOf } from "./growing.ts";

/** Split points are kept on a lattice of 1/64 micrometre: far below what rounding forgives, and exact as an int32. */
export const LATTICE = 64;

/** Numbers the points of the lattice as they come. */
export class Nodes {
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
