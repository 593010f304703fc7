/** Columns, and rows, that sort out most of the neighbours before any comparison. */
export const BANDS = 64;

/**
 * One direction of a sheet in bands: as bits, which neighbours begin at or before a band and which end at or after it. What
 * may meet a box has begun by its last band and has not ended by its first.
 */
export class Band {
  readonly begun: Int32Array;
  readonly open: Int32Array;
  low = 0;
  /** Bands to a micrometre. */
  per = 0;

  constructor(most: number) {
    const bits = BANDS * ((most + 31) >> 5);
    this.begun = new Int32Array(bits);
    this.open = new Int32Array(bits);
  }

  /** `m` neighbours from `from` to `to`, `words` of 32 bits a band. */
  mark(from: Float64Array, to: Float64Array, m: number, words: number): void {
    const { begun, open } = this;
    let low = Infinity;
    let high = -Infinity;
    for (let k = 0; k < m; k++) {
      low = Math.min(low, from[k]);
      high = Math.max(high, to[k]);
    }
    const per = BANDS / (high - low + 1);
    this.low = low;
    this.per = per;
    const end = BANDS * words;
    begun.fill(0, 0, end);
    open.fill(0, 0, end);
    for (let k = 0; k < m; k++) {
      const bit = 1 << (k & 31);
      begun[(((from[k] - low) * per) | 0) * words + (k >> 5)] |= bit;
      open[(((to[k] - low) * per) | 0) * words + (k >> 5)] |= bit;
    }
    for (let q = words; q < end; q++) begun[q] |= begun[q - words];
    for (let q = end - words - 1; q >= 0; q--) open[q] |= open[q + words];
  }
}
