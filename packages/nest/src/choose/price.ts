/** How many pieces of each kind a sheet holds. */
export type Counts = Float64Array;

/** Below this a price or a gain is rounding. */
const NOTHING = 1e-7;
/** Pivots after which the inverse is computed anew: rounding adds up. */
const AFRESH = 150;
/** Pivots of one call: far more than were ever seen, so that ties cannot turn in circles for ever. */
const PIVOTS = 4000;

/**
 * What the pieces are worth in sheets: the dual prices of
 *
 *   least  sum x_j   with   sum_j counts_j[k] x_j >= need[k],   x >= 0
 *
 * over all sheets known to be possible (revised simplex with the explicit inverse, one row a kind; Gilmore and Gomory 1961).
 * A sheet whose pieces are worth more than 1 makes the whole request need fewer sheets.
 */
export class Prices {
  /** Per kind: what one piece is worth, in sheets. */
  readonly price: Float64Array;
  readonly #need: readonly number[];
  /** Row-major inverse of the basis. */
  readonly #inverse: Float64Array;
  readonly #uses: Float64Array;
  /** Basic columns; a number k is a piece of kind k too many. */
  readonly #basis: (Counts | number)[];
  readonly #along: Float64Array;
  #pivots = 0;

  constructor(need: readonly number[]) {
    const m = need.length;
    this.#need = need;
    this.#inverse = new Float64Array(m * m);
    this.#uses = Float64Array.from(need);
    this.#along = new Float64Array(m);
    this.price = new Float64Array(m).fill(1);
    // To begin with every piece has a sheet to itself.
    this.#basis = need.map((_, k) => {
      this.#inverse[k * m + k] = 1;
      return Float64Array.from(need, (_, i) => (i === k ? 1 : 0));
    });
  }

  /** What the pieces of a sheet are worth together. */
  worth(counts: Counts): number {
    let sum = 0;
    for (let k = 0; k < counts.length; k++) sum += this.price[k] * counts[k];
    return sum;
  }

  /** Sheets in all, with fractions. */
  total(): number {
    let sum = 0;
    this.#basis.forEach((column, row) => {
      if (typeof column !== "number") sum += this.#uses[row];
    });
    return sum;
  }

  /** Sheets in use, and how many of each (with fractions). */
  *uses(): Generator<readonly [Counts, number]> {
    for (const [row, column] of this.#basis.entries()) if (typeof column !== "number") yield [column, this.#uses[row]];
  }

  /** Takes in whatever makes fewer sheets, until nothing does. */
  solve(known: readonly Counts[]): void {
    for (let n = 0; n < PIVOTS; n++) {
      let best: Counts | number | undefined;
      let most = NOTHING;
      for (const counts of known) {
        const gain = this.worth(counts) - 1;
        if (gain > most) {
          most = gain;
          best = counts;
        }
      }
      for (let k = 0; k < this.price.length; k++) {
        const gain = -this.price[k];
        if (gain > most) {
          most = gain;
          best = k;
        }
      }
      if (best === undefined || !this.#enter(best)) return;
    }
  }

  #enter(column: Counts | number): boolean {
    const m = this.price.length;
    const inverse = this.#inverse;
    const fraction = this.#uses;
    const along = this.#along;
    for (let row = 0; row < m; row++) {
      let sum = 0;
      if (typeof column === "number") sum = -inverse[row * m + column];
      else
        for (let k = 0; k < m; k++) {
          const n = column[k];
          if (n !== 0) sum += inverse[row * m + k] * n;
        }
      along[row] = sum;
    }
    let out = -1;
    let least = Infinity;
    for (let row = 0; row < m; row++) {
      if (along[row] <= NOTHING) continue;
      const ratio = fraction[row] / along[row];
      if (ratio < least) {
        least = ratio;
        out = row;
      }
    }
    if (out < 0) return false;
    this.#basis[out] = column;
    if (++this.#pivots % AFRESH === 0) this.#invert();
    else {
      const pivot = along[out];
      for (let k = 0; k < m; k++) inverse[out * m + k] = inverse[out * m + k] / pivot;
      fraction[out] = fraction[out] / pivot;
      for (let row = 0; row < m; row++) {
        const f = along[row];
        if (row === out || f === 0) continue;
        for (let k = 0; k < m; k++) inverse[row * m + k] = inverse[row * m + k] - f * inverse[out * m + k];
        fraction[row] = Math.max(0, fraction[row] - f * fraction[out]);
      }
    }
    this.price.fill(0);
    this.#basis.forEach((basic, row) => {
      if (typeof basic === "number") return;
      for (let k = 0; k < m; k++) this.price[k] = this.price[k] + inverse[row * m + k];
    });
    return true;
  }

  /** Gauss and Jordan with the largest pivot of each column. */
  #invert(): void {
    const m = this.price.length;
    const wide = 2 * m;
    const cells = new Float64Array(m * wide);
    this.#basis.forEach((basic, c) => {
      for (let k = 0; k < m; k++) cells[k * wide + c] = typeof basic === "number" ? (k === basic ? -1 : 0) : basic[k];
      cells[c * wide + m + c] = 1;
    });
    for (let c = 0; c < m; c++) {
      let p = c;
      for (let r = c + 1; r < m; r++) if (Math.abs(cells[r * wide + c]) > Math.abs(cells[p * wide + c])) p = r;
      const pivot = cells[p * wide + c];
      for (let k = 0; k < wide; k++) {
        const held = cells[p * wide + k];
        cells[p * wide + k] = cells[c * wide + k];
        cells[c * wide + k] = held / pivot;
      }
      for (let r = 0; r < m; r++) {
        const f = cells[r * wide + c];
        if (r === c || f === 0) continue;
        for (let k = c; k < wide; k++) cells[r * wide + k] = cells[r * wide + k] - f * cells[c * wide + k];
      }
    }
    for (let row = 0; row < m; row++) {
      let sum = 0;
      for (let k = 0; k < m; k++) {
        const v = cells[row * wide + m + k];
        this.#inverse[row * m + k] = v;
        sum += v * this.#need[k];
      }
      this.#uses[row] = Math.max(0, sum);
    }
  }
}
