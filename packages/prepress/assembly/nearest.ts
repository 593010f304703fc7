/* oxlint-disable typescript/no-unnecessary-type-assertion -- <usize> is a conversion in AssemblyScript, not an assertion */
// The search of ../src/bleed/nearest.ts once more, in AssemblyScript: the same steps on the same numbers, and the same map to
// the last index (tests hold the two together; the plain one is the reference). Twice as fast, and fast from the first call:
// a worker that lives for one order never waits for the plain loops to be compiled.
//
// Everything lies in one memory that the caller lays out; every argument named after an array is its address. Build:
// `npm run build:bleed`, which writes ../src/bleed/nearest-binary.ts.

const FAR: i32 = 1 << 28;

function get(array: i32, i: i32): i32 {
  return load<i32>(<usize>(array + (i << 2)));
}

function put(array: i32, i: i32, value: i32): void {
  store<i32>(<usize>(array + (i << 2)), value);
}

/** How many columns stop being source from one row to the next, over all rows: the length of `stopAt` and `stopNext`. */
export function toggled(rows: i32, start: i32, ends: i32): i32 {
  let sum = 0;
  for (let y = 0; y < rows; y++) {
    let i = get(start, y);
    const iEnd = get(start, y + 1);
    let j = iEnd;
    const jEnd = y + 1 < rows ? get(start, y + 2) : iEnd;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? get(ends, i) : FAR;
      const xb = j < jEnd ? get(ends, j) : FAR;
      const x = xa < xb ? xa : xb;
      if (state == 1) sum += x - from;
      from = x;
      if (xa == x) {
        i++;
        state ^= 1;
      }
      if (xb == x) {
        j++;
        state ^= 2;
      }
    }
  }
  return sum;
}

function findEnds(
  rows: i32,
  width: i32,
  start: i32,
  ends: i32,
  first: i32,
  last: i32,
  stopStart: i32,
  stopAt: i32,
  stopNext: i32,
): void {
  for (let x = 0; x < width; x++) {
    put(first, x, FAR);
    put(last, x, -1);
  }
  let n = 0;
  for (let y = 0; y <= rows; y++) {
    put(stopStart, y, n);
    let i = y > 0 ? get(start, y - 1) : 0;
    const iEnd = y > 0 ? get(start, y) : 0;
    let j = y < rows ? get(start, y) : 0;
    const jEnd = y < rows ? get(start, y + 1) : 0;
    let state = 0;
    let from = 0;
    while (i < iEnd || j < jEnd) {
      const xa = i < iEnd ? get(ends, i) : FAR;
      const xb = j < jEnd ? get(ends, j) : FAR;
      const x = xa < xb ? xa : xb;
      if (state == 1) {
        for (let c = from; c < x; c++) {
          put(stopAt, n, c);
          put(stopNext, n, FAR);
          put(last, c, n);
          n++;
        }
      } else if (state == 2) {
        for (let c = from; c < x; c++) {
          const l = get(last, c);
          if (l < 0) put(first, c, y);
          else put(stopNext, l, y);
        }
      }
      from = x;
      if (xa == x) {
        i++;
        state ^= 1;
      }
      if (xb == x) {
        j++;
        state ^= 2;
      }
    }
  }
  put(stopStart, rows + 1, n);
}

/** Of a segment, four numbers side by side: column, squared height, row, first place. */
const SEGMENT: i32 = 16;

/** Columns are looked at in blocks of 16. `voids` has for each the row up to which none of it lies within the first guess of
 * a source: half of all looks are at such columns, beside long upright edges. */
const BLOCK: i32 = 4;

function envelope(
  up: i32,
  down: i32,
  stack: i32,
  voids: i32,
  y: i32,
  a: i32,
  b: i32,
  lo: i32,
  hi: i32,
  reach: i32,
  first: bool,
): i32 {
  let top = stack - SEGMENT;
  let i = 0;
  let h = 0;
  let t = 0;
  let c = lo;
  while (c <= hi) {
    const block = c >> BLOCK;
    const next = (block + 1) << BLOCK;
    if (first && get(voids, block) > y) {
      c = next;
      continue;
    }
    const whole = c == block << BLOCK && next - 1 <= hi;
    const stop = min(next - 1, hi);
    let near = 0;
    let soonest = FAR;
    for (; c <= stop; c++) {
      const above = get(up, c);
      const below = get(down, c);
      let g = y - above;
      let r = above;
      if (below - y < g) {
        g = below - y;
        r = below;
      }
      if (g > reach) {
        soonest = min(soonest, below);
        continue;
      }
      near = 1;
      const u = c - lo;
      const hu = g * g;
      while (top >= stack) {
        const old = t - i;
        const now = t - u;
        if (old * old + h <= now * now + hu) break;
        top -= SEGMENT;
        if (top >= stack) {
          i = load<i32>(<usize>top);
          h = load<i32>(<usize>top, 4);
          t = load<i32>(<usize>top, 12);
        }
      }
      let w = a;
      if (top >= stack) {
        const rise = hu - h;
        const gap = u - i;
        if (gap == 1) {
          w = u + ((rise + 1) >> 1);
          if (w >= b) continue;
        } else {
          // Not nearer at the last place: nearer nowhere. Cheaper than the division that would tell the same.
          const from = b - 1 - u;
          const was = b - 1 - i;
          if (from * from + hu >= was * was + h) continue;
          w = 1 + (gap * (u + i) + rise) / (gap << 1);
        }
      }
      top += SEGMENT;
      i = u;
      h = hu;
      t = w;
      store<i32>(<usize>top, u);
      store<i32>(<usize>top, hu, 4);
      store<i32>(<usize>top, r, 8);
      store<i32>(<usize>top, w, 12);
    }
    if (first && whole && near == 0) put(voids, block, soonest - reach);
  }
  return top + SEGMENT;
}

function write(stack: i32, end: i32, a: i32, b: i32, into: i32, stride: i32, base: i32): i32 {
  let most = 0;
  let x = a;
  for (let q = stack; q < end; q += SEGMENT) {
    const to = q + SEGMENT < end ? load<i32>(<usize>(q + SEGMENT), 12) : b;
    const i = load<i32>(<usize>q);
    const h = load<i32>(<usize>q, 4);
    const index = load<i32>(<usize>q, 8) * stride + i + base;
    const left = x - i;
    const right = to - 1 - i;
    most = max(most, max(left * left, right * right) + h);
    for (; x < to; x++) {
      store<i32>(<usize>into, index);
      into += 4;
    }
  }
  return most;
}

function dropFar(stack: i32, end: i32, a: i32, b: i32, into: i32, limit: f64): void {
  for (let q = stack; q < end; q += SEGMENT) {
    const to = q + SEGMENT < end ? load<i32>(<usize>(q + SEGMENT), 12) : b;
    const i = load<i32>(<usize>q);
    const h = load<i32>(<usize>q, 4);
    for (let x = load<i32>(<usize>q, 12); x < to; x++)
      if (<f64>((x - i) * (x - i) + h) > limit * limit) put(into, x - a, -1);
  }
}

/** The whole search. `limit` negative: none. */
export function search(
  rows: i32,
  width: i32,
  sourceStart: i32,
  sourceEnds: i32,
  targetStart: i32,
  targetEnds: i32,
  up: i32,
  down: i32,
  last: i32,
  stack: i32,
  voids: i32,
  stopStart: i32,
  stopAt: i32,
  stopNext: i32,
  guess: i32,
  whole: i32,
  limit: f64,
  stride: i32,
  offset: i32,
  into: i32,
): void {
  findEnds(rows, width, sourceStart, sourceEnds, down, last, stopStart, stopAt, stopNext);
  for (let x = 0; x < width; x++) put(up, x, -FAR);
  for (let block = 0; block <= width >> BLOCK; block++) put(voids, block, 0);
  for (let y = 0; y < rows; y++) {
    const stopEnd = get(stopStart, y + 1);
    for (let i = get(stopStart, y); i < stopEnd; i++) {
      const x = get(stopAt, i);
      put(up, x, y - 1);
      put(down, x, get(stopNext, i));
      put(voids, x >> BLOCK, 0);
    }
    const sFirst = get(sourceStart, y);
    const sEnd = get(sourceStart, y + 1);
    const tEnd = get(targetStart, y + 1);
    let s = sFirst;
    for (let i = get(targetStart, y); i < tEnd; i += 2) {
      const a = get(targetEnds, i);
      const b = get(targetEnds, i + 1);
      while (s < sEnd && get(sourceEnds, s) < b) s += 2;
      const left = s > sFirst ? get(sourceEnds, s - 1) - 1 : -1;
      const right = s < sEnd ? get(sourceEnds, s) : width;
      if (left >= 0) {
        put(up, left, y);
        put(down, left, FAR);
        put(voids, left >> BLOCK, 0);
      }
      if (right < width) {
        put(up, right, y);
        put(down, right, FAR);
        put(voids, right >> BLOCK, 0);
      }
      const least = min(guess, whole);
      let reach = least;
      while (true) {
        const lo = max(max(a - reach, left), 0);
        const hi = min(min(b - 1 + reach, right), width - 1);
        const end = envelope(up, down, stack, voids, y, a - lo, b - lo, lo, hi, reach, reach == least);
        if (end > stack) {
          const most = write(stack, end, a - lo, b - lo, into, stride, offset + lo);
          if (most <= reach * reach) break;
          if (reach >= whole) {
            if (limit >= 0) dropFar(stack, end, a - lo, b - lo, into, limit);
            break;
          }
        } else if (reach >= whole) {
          for (let x = 0; x < b - a; x++) put(into, x, -1);
          break;
        }
        reach = min(2 * reach, whole);
      }
      into += (b - a) << 2;
    }
  }
}
