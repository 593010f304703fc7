import type { PlacedRectangle, RectanglesRequest } from "./rectangles.ts";

/** Longer than any sheet, and two of them still fit 16 bits. */
const NEVER = 16_000;

/**
 * For every choice of pieces up to given counts the least height of a guillotine layout for every width, by joining two
 * smaller choices one above the other or side by side: exact, and small where jobs have few sizes and sheets a common measure.
 * One table answers for all longer runs too, which need fewer places. Undefined when it would take more than `work` steps.
 */
export const exactRectangles = (
  { sheet, jobs, turns }: RectanglesRequest,
  /** Places of every job for the runs to try, the shortest run (most places of every job) first. */
  wanted: readonly (readonly number[])[],
  work: number,
): { readonly at: number; readonly placed: PlacedRectangle[] } | "none" | undefined => {
  const unit = [sheet.width, sheet.height, ...jobs.flatMap((j) => [j.width, j.height])].reduce(common);
  const W = sheet.width / unit;
  const H = sheet.height / unit;
  if (!Number.isInteger(W) || !Number.isInteger(H) || Math.max(W, H) >= NEVER) return undefined;
  // Jobs of one size are one kind.
  const kindOf: number[] = [];
  const sizes: (readonly [number, number])[] = [];
  for (const j of jobs) {
    const [w, h] = [j.width / unit, j.height / unit];
    let kind = sizes.findIndex(([a, b]) => (a === w && b === h) || (turns && a === h && b === w));
    if (kind < 0) kind = sizes.push([w, h]) - 1;
    kindOf.push(kind);
  }
  const countsOf = (places: readonly number[]): number[] => {
    const counts = sizes.map(() => 0);
    places.forEach((n, j) => {
      counts[kindOf[j] as number] = (counts[kindOf[j] as number] as number) + n;
    });
    return counts;
  };
  const most = countsOf(wanted[0] ?? []);
  const steps = most.reduce((n, c) => (n * (c + 1) * (c + 2)) / 2, 1) * 0.5 * (W + H);
  const vectors = most.reduce((n, c) => n * (c + 1), 1);
  if (steps > work || vectors * (W + H) > 3e7) return undefined;

  const table = new Table(W, H, sizes, most, turns);
  for (const [at, places] of wanted.entries()) {
    const counts = countsOf(places);
    const full = table.indexOf(counts);
    if (table.height(full, W) > H) continue;
    const placed: { kind: number; x: number; y: number; width: number; height: number }[] = [];
    table.place(full, 0, 0, W, H, placed);
    const left = [...places];
    return {
      at,
      placed: placed.map(({ kind, x, y, width, height }) => {
        const job = left.findIndex((n, j) => n > 0 && kindOf[j] === kind);
        left[job] = (left[job] as number) - 1;
        return { job, x: x * unit, y: y * unit, width: width * unit, height: height * unit };
      }),
    };
  }
  return "none";
};

const common = (a: number, b: number): number => (b === 0 ? a : common(b, a % b));

class Table {
  private readonly W: number;
  private readonly H: number;
  private readonly sizes: readonly (readonly [number, number])[];
  private readonly most: readonly number[];
  private readonly weight: number[] = [];
  private readonly turns: boolean;
  /** `high[v * (W + 1) + w]`: least height at width w; `wide[v * (H + 1) + h]`: least width at height h. */
  private readonly high: Int16Array;
  private readonly wide: Int16Array;

  constructor(W: number, H: number, sizes: Table["sizes"], most: readonly number[], turns: boolean) {
    this.W = W;
    this.H = H;
    this.sizes = sizes;
    this.most = most;
    this.turns = turns;
    let size = 1;
    for (const n of most) {
      this.weight.push(size);
      size *= n + 1;
    }
    this.high = new Int16Array(size * (W + 1)).fill(NEVER);
    this.wide = new Int16Array(size * (H + 1)).fill(NEVER);
    for (let v = 1; v < size; v++) this.fill(v);
  }

  indexOf(counts: readonly number[]): number {
    return counts.reduce((v, n, k) => v + n * (this.weight[k] as number), 0);
  }

  height(v: number, w: number): number {
    return this.high[v * (this.W + 1) + w] as number;
  }

  private countsOf(v: number): number[] {
    return this.most.map((n, k) => Math.floor(v / (this.weight[k] as number)) % (n + 1));
  }

  /** The kind of a choice of one piece, else -1. */
  private single(v: number): number {
    return this.weight.indexOf(v);
  }

  /** All ways to part a choice in two, each once; stops when `visit` says so. */
  private parts(v: number, visit: (a: number) => boolean): void {
    const counts = this.countsOf(v);
    const digit = counts.map(() => 0);
    let a = 0;
    for (;;) {
      let k = 0;
      while (k < digit.length && digit[k] === counts[k]) {
        a -= (digit[k] as number) * (this.weight[k] as number);
        digit[k] = 0;
        k++;
      }
      if (k === digit.length) return;
      digit[k] = (digit[k] as number) + 1;
      a += this.weight[k] as number;
      // Indices rise, so past the half every pair has been seen from the other side.
      if (2 * a > v) return;
      if (visit(a)) return;
    }
  }

  private fill(v: number): void {
    const { W, H, high, wide } = this;
    const row = v * (W + 1);
    const column = v * (H + 1);
    const kind = this.most.some((n, k) => n > 0 && this.weight[k] === v) ? this.kindAt(v) : -1;
    if (kind >= 0) {
      const [a, b] = this.sizes[kind] as readonly [number, number];
      const lay = (w: number, h: number): void => {
        for (let x = w; x <= W; x++) if (h < (high[row + x] as number)) high[row + x] = h;
      };
      lay(a, b);
      if (this.turns) lay(b, a);
    } else
      this.parts(v, (a) => {
        const ra = a * (W + 1);
        const rb = (v - a) * (W + 1);
        for (let x = 0; x <= W; x++) {
          const h = (high[ra + x] as number) + (high[rb + x] as number);
          if (h < (high[row + x] as number)) high[row + x] = h;
        }
        const ca = a * (H + 1);
        const cb = (v - a) * (H + 1);
        for (let y = 0; y <= H; y++) {
          const w = (wide[ca + y] as number) + (wide[cb + y] as number);
          if (w < (wide[column + y] as number)) wide[column + y] = w;
        }
        return false;
      });
    // Each table learns from the other.
    for (let y = H; y >= 0; y--) {
      const w = wide[column + y] as number;
      if (w <= W && y < (high[row + w] as number)) high[row + w] = y;
    }
    for (let x = 1; x <= W; x++)
      if ((high[row + x - 1] as number) < (high[row + x] as number)) high[row + x] = high[row + x - 1] as number;
    for (let x = W; x >= 0; x--) {
      const h = high[row + x] as number;
      if (h <= H && x < (wide[column + h] as number)) wide[column + h] = x;
    }
    for (let y = 1; y <= H; y++)
      if ((wide[column + y - 1] as number) < (wide[column + y] as number))
        wide[column + y] = wide[column + y - 1] as number;
  }

  /** Kinds without places share their weight with the next one: the kind that has places counts. */
  private kindAt(v: number): number {
    return this.most.findIndex((n, k) => n > 0 && this.weight[k] === v);
  }

  place(
    v: number,
    x: number,
    y: number,
    w: number,
    h: number,
    out: { kind: number; x: number; y: number; width: number; height: number }[],
  ): void {
    if (v === 0) return;
    const kind = this.single(v) >= 0 ? this.kindAt(v) : -1;
    if (kind >= 0) {
      const [a, b] = this.sizes[kind] as readonly [number, number];
      const turned = !(a <= w && b <= h);
      out.push({ kind, x, y, width: turned ? b : a, height: turned ? a : b });
      return;
    }
    this.parts(v, (a) => {
      const b = v - a;
      const ha = this.height(a, w);
      if (ha + this.height(b, w) <= h) {
        this.place(a, x, y, w, ha, out);
        this.place(b, x, y + ha, w, h - ha, out);
        return true;
      }
      const wa = this.wide[a * (this.H + 1) + h] as number;
      if (wa + (this.wide[b * (this.H + 1) + h] as number) <= w) {
        this.place(a, x, y, wa, h, out);
        this.place(b, x + wa, y, w - wa, h, out);
        return true;
      }
      return false;
    });
  }
}
