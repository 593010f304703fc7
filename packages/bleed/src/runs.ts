// Sets of pixels as runs. A band around a contour is 5 % of a picture and a few thousand runs; a mask of it would be the
// size of the picture, and reading that mask costs more than filling the band.

/** A set of pixels on a canvas `rows` high. Row y has the half-open runs `ends[start[y]], ends[start[y] + 1]`, …: sorted,
 * disjoint, none empty, none touching the next. */
export interface Runs {
  readonly rows: number;
  readonly start: Int32Array;
  readonly ends: Int32Array;
}

/** Collects runs row by row. Runs of a row arrive sorted; touching ones are joined. */
export class RunsWriter {
  #ends = new Int32Array(1024);
  #count = 0;
  #row = 0;
  readonly #start: Int32Array;

  constructor(rows: number) {
    this.#start = new Int32Array(rows + 1);
  }

  add(from: number, to: number): void {
    if (to <= from) return;
    const n = this.#count;
    if (n > this.#start[this.#row] && this.#ends[n - 1] === from) {
      this.#ends[n - 1] = to;
      return;
    }
    if (n + 2 > this.#ends.length) {
      const more = new Int32Array(this.#ends.length * 2);
      more.set(this.#ends);
      this.#ends = more;
    }
    this.#ends[n] = from;
    this.#ends[n + 1] = to;
    this.#count = n + 2;
  }

  endRow(): void {
    this.#row++;
    this.#start[this.#row] = this.#count;
  }

  done(): Runs {
    return { rows: this.#start.length - 1, start: this.#start, ends: this.#ends.slice(0, this.#count) };
  }
}

// Truth tables over (in a) + 2 (in b).
const UNION = 0b1110;
const BOTH = 0b1000;
const MINUS = 0b0010;

/** Both sets have the same rows. Every end is a toggle, so one walk over the ends of both answers any truth table. */
const combine = (a: Runs, b: Runs, table: number): Runs => {
  const out = new RunsWriter(a.rows);
  for (let y = 0; y < a.rows; y++) {
    let i = a.start[y];
    let j = b.start[y];
    const iEnd = a.start[y + 1];
    const jEnd = b.start[y + 1];
    let state = 0;
    let from = -1;
    let inside = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? a.ends[i] : 0x7fffffff;
      const xb = j < jEnd ? b.ends[j] : 0x7fffffff;
      const x = xa < xb ? xa : xb;
      if (xa === x) {
        i++;
        state ^= 1;
      }
      if (xb === x) {
        j++;
        state ^= 2;
      }
      const now = (table >> state) & 1;
      if (now === inside) continue;
      if (now) from = x;
      else out.add(from, x);
      inside = now;
    }
    out.endRow();
  }
  return out.done();
};

export const union = (a: Runs, b: Runs): Runs => combine(a, b, UNION);
export const intersect = (a: Runs, b: Runs): Runs => combine(a, b, BOTH);
/** The pixels of `a` that are not in `b`. */
export const minus = (a: Runs, b: Runs): Runs => combine(a, b, MINUS);

/** The pixels of a rectangle, clipped to a canvas of `rows` rows. */
export const rectangle = (rows: number, x0: number, y0: number, x1: number, y1: number): Runs => {
  const out = new RunsWriter(rows);
  for (let y = 0; y < rows; y++) {
    if (y >= y0 && y < y1) out.add(x0, x1);
    out.endRow();
  }
  return out.done();
};

/** Half widths of the rows of a structuring element, from row -k to row k. */
export type Brush = readonly number[];

/** All (dx, dy) with dx² + dy² <= square. */
export const disc = (square: number): Brush => {
  const k = Math.floor(Math.sqrt(square));
  return Array.from({ length: 2 * k + 1 }, (_, i) => Math.floor(Math.sqrt(square - (i - k) ** 2)));
};

/** All (dx, dy) with |dx|, |dy| <= k. */
export const block = (k: number): Brush => Array.from({ length: 2 * k + 1 }, () => k);

/** Runs under the brush above which a row is counted column by column: sorting the ends of dots takes quadratic time. */
const MANY = 48;

/** Every pixel that the brush reaches from the set, on the canvas of `width` columns. */
export const dilate = (set: Runs, brush: Brush, width: number): Runs => {
  const k = (brush.length - 1) / 2;
  const { rows, start } = set;
  const out = new RunsWriter(rows);
  const pairs = new Int32Array(2 * MANY);
  const rises = new Int32Array(width + 1);
  for (let y = 0; y < rows; y++) {
    const first = start[Math.max(0, y - k)];
    const last = start[Math.min(rows, y + k + 1)];
    if (last - first <= 2 * MANY) dilateRow(set, brush, y, width, pairs, out);
    else dilateDots(set, brush, y, width, rises, out);
    out.endRow();
  }
  return out.done();
};

/** One row of few runs. Insertion keeps them sorted; rows above and below hold nearly the same, so little moves. */
const dilateRow = (set: Runs, brush: Brush, y: number, width: number, pairs: Int32Array, out: RunsWriter): void => {
  const k = (brush.length - 1) / 2;
  let n = 0;
  for (let dy = Math.max(-k, -y); dy <= k && y + dy < set.rows; dy++) {
    const w = brush[dy + k];
    const end = set.start[y + dy + 1];
    for (let i = set.start[y + dy]; i < end; i += 2) {
      const from = Math.max(0, set.ends[i] - w);
      const to = Math.min(width, set.ends[i + 1] + w);
      let at = n;
      while (at > 0 && pairs[at - 2] > from) {
        pairs[at] = pairs[at - 2];
        pairs[at + 1] = pairs[at - 1];
        at -= 2;
      }
      pairs[at] = from;
      pairs[at + 1] = to;
      n += 2;
    }
  }
  let from = 0;
  let to = -1;
  for (let i = 0; i < n; i += 2) {
    const a = pairs[i];
    const b = pairs[i + 1];
    if (a > to) {
      if (to >= 0) out.add(from, to);
      from = a;
      to = b;
    } else if (b > to) to = b;
  }
  if (to >= 0) out.add(from, to);
};

/** One row of many runs: how many brushes begin and end at every column. */
const dilateDots = (set: Runs, brush: Brush, y: number, width: number, rises: Int32Array, out: RunsWriter): void => {
  const k = (brush.length - 1) / 2;
  rises.fill(0);
  for (let dy = Math.max(-k, -y); dy <= k && y + dy < set.rows; dy++) {
    const w = brush[dy + k];
    const end = set.start[y + dy + 1];
    for (let i = set.start[y + dy]; i < end; i += 2) {
      rises[Math.max(0, set.ends[i] - w)]++;
      rises[Math.min(width, set.ends[i + 1] + w)]--;
    }
  }
  let covered = 0;
  let from = 0;
  for (let x = 0; x <= width; x++) {
    const now = covered + rises[x];
    if (covered === 0 && now > 0) from = x;
    else if (covered > 0 && now === 0) out.add(from, x);
    covered = now;
  }
};

/** Number of pixels. */
export const count = (set: Runs): number => {
  let sum = 0;
  for (let i = 0; i < set.ends.length; i += 2) sum += set.ends[i + 1] - set.ends[i];
  return sum;
};

export const isEmpty = (set: Runs): boolean => set.ends.length === 0;

/** Whether a pixel is in a set. */
export const has = ({ rows, start, ends }: Runs, x: number, y: number): boolean => {
  if (y < 0 || y >= rows) return false;
  // The number of ends at or before x: odd inside a run.
  let low = start[y];
  const first = low;
  let high = start[y + 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (ends[middle] <= x) low = middle + 1;
    else high = middle;
  }
  return ((low - first) & 1) === 1;
};
