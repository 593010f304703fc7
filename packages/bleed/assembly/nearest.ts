/* oxlint-disable typescript/no-unnecessary-type-assertion -- <usize> is a conversion in AssemblyScript, not an assertion */
// The search of ../src/nearest.ts once more, in AssemblyScript: the same steps on the same numbers, and the same map to
// the last index (tests hold the two together; the plain one is the reference). Twice as fast, and fast from the first call:
// a process that lives for one picture never waits for the plain loops to be compiled.
//
// The answer is written as segments of pixels that share a source, two numbers each: the place in the picture after the last
// of them, and the source. There are a third to a tenth as many as pixels.
import { FAR, get, put } from "./memory";
import { BELOW, findEnds, STOP, STOPPED } from "./stops";

/** A segment of a row whose pixels share a source, four numbers side by side: bytes of each from its beginning. */
const COLUMN: usize = 0;
/** The source's squared distance in height. */
const HEIGHT: usize = 4;
const ROW: usize = 8;
/** First place in the row that is the segment's. */
const FIRST: usize = 12;
const SEGMENT: i32 = 16;

/** Columns are looked at in blocks of 16. `voids` has for each the row up to which none of it lies within the first guess of
 * a source: half of all looks are at such columns, beside long upright edges. */
const BLOCK: i32 = 4;
/** Height of a column that has no source within reach. */
const NONE: i32 = 1 << 29;
/** Greatest reach whose squares leave room for the sums of `sifted`. */
const SQUARES: i32 = 8192;
/** The squared heights over columns lo..hi into `heights`, NONE where they are beyond reach, and for every block whether any is
 * not. */
function lift(y: i32, lo: i32, hi: i32, reach: i32, first: bool): void {
  const vy = i32x4.splat(y);
  const vReach = i32x4.splat(reach);
  const vNone = i32x4.splat(NONE);
  const square = i32x4.splat(reach <= SQUARES ? -1 : 0);
  const end = hi >> BLOCK;
  for (let block = lo >> BLOCK; block <= end; block++) {
    const from = block << BLOCK;
    const at = from << 2;
    if (first && get(voids, block) > y) {
      put(lively, block, 0);
      for (let k = 0; k < 64; k += 16) v128.store(<usize>(heights + at + k), vNone);
      continue;
    }
    let any = i32x4.splat(0);
    let soonest = i32x4.splat(FAR);
    for (let k = 0; k < 64; k += 16) {
      const below = v128.load(<usize>(down + at + k));
      const g = i32x4.min_s(i32x4.sub(vy, v128.load(<usize>(up + at + k))), i32x4.sub(below, vy));
      const near = i32x4.le_s(g, vReach);
      const h = v128.and(i32x4.mul(g, g), square);
      v128.store(<usize>(heights + at + k), v128.bitselect(h, vNone, near));
      any = v128.or(any, near);
      soonest = i32x4.min_s(soonest, below);
    }
    const alive = v128.any_true(any);
    put(lively, block, alive ? 1 : 0);
    if (first && !alive && from >= lo && from + 15 <= hi) {
      const two = i32x4.min_s(soonest, i32x4.shuffle(soonest, soonest, 2, 3, 0, 1));
      put(voids, block, min(i32x4.extract_lane(two, 0), i32x4.extract_lane(two, 1)) - reach);
    }
  }
  // Columns beyond the window count for nothing; what was written for them may be of rows long past.
  v128.store(<usize>(heights + (lo << 2) - 16), vNone);
  v128.store(<usize>(heights + (hi << 2) + 4), vNone);
}

/** Which of four columns can be nearest to anything: not those that lie farther, everywhere, than one of the two columns k to
 * either side. Beside a rough contour half of them go before the envelope has to push and drop them. */
function sifted(at: i32): i32 {
  const h = v128.load(<usize>at);
  const twice = i32x4.add(h, h);
  // Without a place x of its own: h - h[-k] - k² < 2 k (x - u) <= h[+k] - h + k².
  const by1 = i32x4.add(v128.load(<usize>(at - 4)), v128.load(<usize>(at + 4)));
  const by2 = i32x4.add(v128.load(<usize>(at - 8)), v128.load(<usize>(at + 8)));
  const by4 = i32x4.add(v128.load(<usize>(at - 16)), v128.load(<usize>(at + 16)));
  const least = i32x4.min_s(
    i32x4.min_s(i32x4.add(by1, i32x4.splat(2)), i32x4.add(by2, i32x4.splat(8))),
    i32x4.add(by4, i32x4.splat(32)),
  );
  return i32x4.bitmask(v128.and(i32x4.lt_s(twice, least), i32x4.lt_s(h, i32x4.splat(NONE))));
}

/** The lower envelope over columns lo..hi for places a..b-1, both counted from lo; answers the end of the stack. */
function envelope(y: i32, a: i32, b: i32, lo: i32, hi: i32): i32 {
  let top = stack - SEGMENT;
  let i = 0;
  let h = 0;
  let t = 0;
  const lastBlock = hi >> BLOCK;
  for (let block = lo >> BLOCK; block <= lastBlock; block++) {
    if (get(lively, block) == 0) continue;
    const from = block << BLOCK;
    const at = heights + (from << 2);
    let kept = sifted(at) | (sifted(at + 16) << 4) | (sifted(at + 32) << 8) | (sifted(at + 48) << 12);
    if (from < lo) kept &= -1 << (lo - from);
    if (hi < from + 15) kept &= (2 << (hi - from)) - 1;
    while (kept != 0) {
      const c = from + ctz(kept);
      kept &= kept - 1;
      const above = get(up, c);
      const below = get(down, c);
      let g = y - above;
      let r = above;
      if (below - y < g) {
        g = below - y;
        r = below;
      }
      const u = c - lo;
      const hu = g * g;
      while (top >= stack) {
        const old = t - i;
        const now = t - u;
        if (old * old + h <= now * now + hu) break;
        top -= SEGMENT;
        if (top >= stack) {
          i = load<i32>(<usize>top, COLUMN);
          h = load<i32>(<usize>top, HEIGHT);
          t = load<i32>(<usize>top, FIRST);
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
      store<i32>(<usize>top, u, COLUMN);
      store<i32>(<usize>top, hu, HEIGHT);
      store<i32>(<usize>top, r, ROW);
      store<i32>(<usize>top, w, FIRST);
    }
  }
  return top + SEGMENT;
}

/** A segment of the answer, two numbers side by side: the place after its last pixel, and its source. */
const END: usize = 0;
const FROM: usize = 4;
const ANSWER: i32 = 8;

/** Largest squared distance of what `write` wrote last from its source. */
let most: i32 = 0;

/** Writes the segments; `base` is the index of column lo in row 0, `place` that in the row of the run. */
function write(end: i32, a: i32, b: i32, into: i32, base: i32, place: i32): i32 {
  let far = 0;
  let x = a;
  for (let q = stack; q < end; q += SEGMENT) {
    const to = q + SEGMENT < end ? load<i32>(<usize>(q + SEGMENT), FIRST) : b;
    const i = load<i32>(<usize>q, COLUMN);
    const left = x - i;
    const right = to - 1 - i;
    far = max(far, max(left * left, right * right) + load<i32>(<usize>q, HEIGHT));
    store<i32>(<usize>into, place + to, END);
    store<i32>(<usize>into, load<i32>(<usize>q, ROW) * stride + i + base, FROM);
    into += ANSWER;
    x = to;
  }
  most = far;
  return into;
}

/** The same with -1 for every pixel whose source is farther than the limit: those are at the two ends of a segment. */
function writeNear(end: i32, b: i32, into: i32, base: i32, place: i32): i32 {
  for (let q = stack; q < end; q += SEGMENT) {
    const to = q + SEGMENT < end ? load<i32>(<usize>(q + SEGMENT), FIRST) : b;
    const i = load<i32>(<usize>q, COLUMN);
    const h = load<i32>(<usize>q, HEIGHT);
    const index = load<i32>(<usize>q, ROW) * stride + i + base;
    let x = load<i32>(<usize>q, FIRST);
    while (x < to) {
      const near = <f64>((x - i) * (x - i) + h) <= limit * limit;
      do x++;
      while (x < to && <f64>((x - i) * (x - i) + h) <= limit * limit == near);
      store<i32>(<usize>into, place + x, END);
      store<i32>(<usize>into, near ? index : -1, FROM);
      into += ANSWER;
    }
  }
  return into;
}

// The search under way. It answers in portions, so that the answer of one is still in the processor's cache while its pixels are
// written: all of it at once is a megabyte or two that pushes the picture out.
let rows: i32 = 0;
let width: i32 = 0;
let sourceStart: i32 = 0;
let sourceEnds: i32 = 0;
let targetStart: i32 = 0;
let targetEnds: i32 = 0;
let up: i32 = 0;
let down: i32 = 0;
let stack: i32 = 0;
let voids: i32 = 0;
let lively: i32 = 0;
let heights: i32 = 0;
let stopStart: i32 = 0;
let guess: i32 = 0;
let whole: i32 = 0;
let limit: f64 = 0;
let stride: i32 = 0;
let offset: i32 = 0;
/** The next row. */
let row: i32 = 0;

/** Begins a search, of which `more` gives the answer. `up`, `down` and `heights` have air for a block at their end, `heights` for
 * four columns before its first. `stops` is the last thing in memory; answers the address after it. `limit` negative: none. */
export function begin(
  itsRows: i32,
  itsWidth: i32,
  itsSourceStart: i32,
  itsSourceEnds: i32,
  itsTargetStart: i32,
  itsTargetEnds: i32,
  itsUp: i32,
  itsDown: i32,
  itsLast: i32,
  itsStack: i32,
  itsVoids: i32,
  itsLively: i32,
  itsHeights: i32,
  itsStopStart: i32,
  stops: i32,
  itsGuess: i32,
  itsWhole: i32,
  itsLimit: f64,
  itsStride: i32,
  itsOffset: i32,
): i32 {
  rows = itsRows;
  width = itsWidth;
  sourceStart = itsSourceStart;
  sourceEnds = itsSourceEnds;
  targetStart = itsTargetStart;
  targetEnds = itsTargetEnds;
  up = itsUp;
  down = itsDown;
  stack = itsStack;
  voids = itsVoids;
  lively = itsLively;
  heights = itsHeights;
  stopStart = itsStopStart;
  guess = itsGuess;
  whole = itsWhole;
  limit = itsLimit;
  stride = itsStride;
  offset = itsOffset;
  row = 0;
  for (let x = 0; x < width; x++) put(up, x, -FAR);
  for (let block = 0; block <= width >> BLOCK; block++) put(voids, block, 0);
  return findEnds(rows, width, sourceStart, sourceEnds, down, itsLast, stopStart, stops);
}

/** The row with which `more` goes on. */
export function reached(): i32 {
  return row;
}

/** Brings the columns up to date whose source stopped above the row. */
function passEnds(y: i32): void {
  const stopEnd = get(stopStart, y + 1);
  for (let stop = get(stopStart, y); stop < stopEnd; stop += STOP) {
    const x = load<i32>(<usize>stop, STOPPED);
    put(up, x, y - 1);
    put(down, x, load<i32>(<usize>stop, BELOW));
    put(voids, x >> BLOCK, 0);
  }
}

/** A source column that ends the search to one side. Both values of it are set anew where its source stops. */
function standAt(x: i32, y: i32): void {
  put(up, x, y);
  put(down, x, FAR);
  put(voids, x >> BLOCK, 0);
}

/** One target run, with R doubled until its farthest pixel proves it large enough; answers the address after its answer. */
function spanOf(y: i32, a: i32, b: i32, left: i32, right: i32, into: i32): i32 {
  const least = min(guess, whole);
  let reach = least;
  while (true) {
    const lo = max(max(a - reach, left), 0);
    const hi = min(min(b - 1 + reach, right), width - 1);
    lift(y, lo, hi, reach, reach == least);
    const end = envelope(y, a - lo, b - lo, lo, hi);
    const base = offset + lo;
    const place = base + y * stride;
    if (end > stack) {
      const after = write(end, a - lo, b - lo, into, base, place);
      if (most <= reach * reach || (reach >= whole && limit < 0)) return after;
      if (reach >= whole) return writeNear(end, b - lo, into, base, place);
    } else if (reach >= whole) {
      store<i32>(<usize>into, place + b - lo, END);
      store<i32>(<usize>into, -1, FROM);
      return into + ANSWER;
    }
    reach = min(2 * reach, whole);
  }
}

/** Answers whole rows until `enough` bytes are written; a row more may come after them. */
export function more(into: i32, enough: i32): i32 {
  const full = into + enough;
  for (; row < rows && into < full; row++) {
    passEnds(row);
    const first = get(sourceStart, row);
    const sEnd = get(sourceStart, row + 1);
    const tEnd = get(targetStart, row + 1);
    let s = first;
    for (let i = get(targetStart, row); i < tEnd; i += 2) {
      const a = get(targetEnds, i);
      const b = get(targetEnds, i + 1);
      while (s < sEnd && get(sourceEnds, s) < b) s += 2;
      const left = s > first ? get(sourceEnds, s - 1) - 1 : -1;
      const right = s < sEnd ? get(sourceEnds, s) : width;
      if (left >= 0) standAt(left, row);
      if (right < width) standAt(right, row);
      into = spanOf(row, a, b, left, right, into);
    }
  }
  return into;
}
