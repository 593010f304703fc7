/**
 * A dense linear programme for few layouts and many pieces, solved from its dual.
 *
 *   least  sum x_j   with   sum_j a[c][j] x_j >= need[c],   x >= 0
 *
 * The dual has one row a layout (four, nine, thirteen) and starts feasible with all slacks basic, so there is no first phase,
 * and its value rises to the answer from below: a search that only wants answers under a limit stops as soon as it passes it.
 * Condensed tableau (the basic columns are not stored): one pivot is rows x columns multiplications.
 */
export class DualTableau {
  /** Run length of every layout after `solve`. */
  readonly runs: Float64Array;
  private readonly rows: number;
  private readonly width: number;
  private readonly cells: Float64Array;
  /** Which variable stands where: 0.. = need c, -1-j = slack of layout j. */
  private readonly basic: Int32Array;
  private readonly nonbasic: Int32Array;
  private columns = 0;

  constructor(layouts: number, needs: number) {
    this.rows = layouts;
    this.width = needs + 1;
    this.cells = new Float64Array((layouts + 1) * this.width);
    this.runs = new Float64Array(layouts);
    this.basic = new Int32Array(layouts);
    this.nonbasic = new Int32Array(needs);
  }

  /** Forget all needs. `cost` is what one sheet of a layout costs. */
  reset(): void {
    this.columns = 0;
  }

  /** One more need; fill its coefficients with `put`. The column starts at zero. */
  add(need: number): number {
    const c = this.columns++;
    for (let j = 0; j < this.rows; j++) this.cells[j * this.width + c] = 0;
    this.cells[this.rows * this.width + c] = -need;
    return c;
  }

  put(column: number, layout: number, coefficient: number): void {
    this.cells[layout * this.width + column] = coefficient;
  }

  /** The least sum of runs, `Infinity` when no runs do, or some value above `limit` as soon as the least is known to be above it. */
  solve(limit = Number.POSITIVE_INFINITY): number {
    const { rows, columns, width, cells, basic, nonbasic } = this;
    const last = columns;
    for (let j = 0; j < rows; j++) {
      cells[j * width + last] = 1;
      basic[j] = -1 - j;
    }
    const goal = rows * width;
    cells[goal + last] = 0;
    for (let c = 0; c < columns; c++) nonbasic[c] = c;
    for (let turn = 0; ; turn++) {
      let enter = -1;
      if (turn < 60) {
        let steepest = -1e-9;
        for (let c = 0; c < columns; c++) {
          const v = cells[goal + c] as number;
          if (v < steepest) {
            steepest = v;
            enter = c;
          }
        }
      } else {
        // Bland's rule cannot cycle; the steepest rule can, all right-hand sides being 1.
        let least = Number.POSITIVE_INFINITY;
        for (let c = 0; c < columns; c++) {
          if ((cells[goal + c] as number) < -1e-9) {
            const label = nonbasic[c] as number;
            const rank = label < 0 ? columns - label : label;
            if (rank < least) {
              least = rank;
              enter = c;
            }
          }
        }
      }
      if (enter < 0 || turn > 2000) break;
      let leave = -1;
      let ratio = Number.POSITIVE_INFINITY;
      for (let j = 0; j < rows; j++) {
        const a = cells[j * width + enter] as number;
        if (a > 1e-9) {
          const r = (cells[j * width + last] as number) / a;
          if (
            r < ratio - 1e-12 ||
            (r < ratio + 1e-12 && leave >= 0 && (basic[j] as number) < (basic[leave] as number))
          ) {
            ratio = r;
            leave = j;
          }
        }
      }
      if (leave < 0) return Number.POSITIVE_INFINITY;
      const base = leave * width;
      const inverse = 1 / (cells[base + enter] as number);
      for (let c = 0; c <= last; c++) cells[base + c] = (cells[base + c] as number) * inverse;
      cells[base + enter] = inverse;
      for (let j = 0; j <= rows; j++) {
        if (j === leave) continue;
        const row = j * width;
        const f = cells[row + enter] as number;
        if (f === 0) continue;
        for (let c = 0; c <= last; c++) cells[row + c] = (cells[row + c] as number) - f * (cells[base + c] as number);
        cells[row + enter] = -f * inverse;
      }
      const swap = basic[leave] as number;
      basic[leave] = nonbasic[enter] as number;
      nonbasic[enter] = swap;
      if ((cells[goal + last] as number) > limit) return cells[goal + last] as number;
    }
    this.runs.fill(0);
    for (let c = 0; c < columns; c++) {
      const label = nonbasic[c] as number;
      if (label < 0) this.runs[-1 - label] = Math.max(0, cells[goal + c] as number);
    }
    return cells[goal + last] as number;
  }

  /** The price of every need after `solve` (dual values); basic needs only, all others cost nothing. */
  prices(out: Float64Array): void {
    out.fill(0);
    for (let j = 0; j < this.rows; j++) {
      const label = this.basic[j] as number;
      if (label >= 0) out[label] = this.cells[j * this.width + this.columns] as number;
    }
  }
}
