/** A stream of seeded numbers (sfc32): the same seed gives the same layout on every machine. */
export class Dice {
  #a: number;
  #b: number;
  #c: number;
  #d = 1;

  constructor(seed: number, stream = 0) {
    this.#a = seed | 0;
    this.#b = (seed / 4294967296) | 0;
    this.#c = stream | 0;
    for (let i = 0; i < 15; i++) this.unit();
  }

  /** Evenly spread in [0, 1). */
  unit(): number {
    const t = (((this.#a + this.#b) | 0) + this.#d) | 0;
    this.#d = (this.#d + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = (this.#c << 21) | (this.#c >>> 11);
    this.#c = (this.#c + t) | 0;
    return (t >>> 0) * 2.3283064365386963e-10;
  }

  /** A whole number in 0..n-1. */
  below(n: number): number {
    return Math.floor(this.unit() * n);
  }

  /** Normally spread around 0 with deviation 1. */
  normal(): number {
    return Math.sqrt(-2 * Math.log(1 - this.unit())) * Math.cos(2 * Math.PI * this.unit());
  }

  /** Puts the first `n` entries into random order, in place. */
  shuffle(list: Int32Array, n: number): void {
    for (let i = n - 1; i > 0; i--) {
      const j = this.below(i + 1);
      const held = list[i];
      list[i] = list[j];
      list[j] = held;
    }
  }
}
