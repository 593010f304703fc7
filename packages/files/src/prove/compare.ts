import { apply, inset, inverse, type Matrix, multiply, outlinesBounds, type Rect } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Placed, Sheet } from "@kitforme/sheet";
import { onPage, roomOfInk, roomOfText, sideOf } from "./expected.ts";
import { type Limits, NEAR, type Reference } from "./draw-reference.ts";
import type { ProofFault } from "./fault.ts";
import { markWindow } from "./prove-marks.ts";
import { rectAt, withinAny } from "./rects.ts";
import { type References, referenceOf } from "./reference.ts";
import { pixelsOf, pointOf, SEAM, type Seen } from "./seen.ts";

/** Faults are counted in cells of so many pixels (1 mm); so many wrong ones of 36 are no accident of sampling. */
const CELL = 6;
const MANY = 5;
/** Ink where none belongs: a sum of the channels below this, a tenth of the way from paper to black. */
const INKED = 0.9 * 765;

/**
 * A page, or a part of it, laid over what every piece there is to look like: ink that is missing or another, at its place; and
 * ink where none belongs, as a printed line of the cutter's.
 */
export const comparePage = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  seen: Seen,
  references: Pick<References, "of">,
): Promise<ProofFault[]> => {
  const faults: ProofFault[] = [];
  const covered = new Uint8Array(seen.width * seen.height);
  for (const placed of sheet.placed) {
    const matrix = onPage(sheet, placed, side);
    const window = windowOf(seen, matrix, placed);
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face || window.right <= window.left || window.bottom <= window.top) continue;
    const reference = await referenceOf(placed, press, side, references);
    const words = sideOf(placed.texts, side).map(roomOfText);
    const cell = compare(seen, reference, matrix, window, words, covered);
    if (!cell) continue;
    const { kit, piece } = placed.prepared.piece;
    const what = `place ${placed.number} (${kit}, ${piece}) does not look like its artwork with its bleed`;
    faults.push({ check: "print", what, at: pointOf(seen, cell.column, cell.row) });
  }
  const inks = side === "back" ? (sheet.back?.inks ?? []) : sheet.inks;
  const own = [...inks.map(roomOfInk), ...(side === "back" ? [] : sheet.marks.map((mark) => markWindow(mark, 0)))];
  for (const rect of own) cover(seen, rect, covered);
  const stray = strayIn(seen, covered);
  if (stray)
    faults.push({
      check: "print",
      what: "there is ink where nothing is to print",
      at: pointOf(seen, stray.column, stray.row),
    });
  return faults;
};

interface Window {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** The pixels that a placement may print on. */
const windowOf = (seen: Seen, matrix: Matrix, { prepared }: Placed): Window => {
  const reach = reaches.get(prepared.reach) ?? inset(outlinesBounds(prepared.reach), -600);
  reaches.set(prepared.reach, reach);
  const box = rectAt(multiply(pixelsOf(seen), matrix), reach);
  return {
    left: Math.max(0, Math.floor(box.x)),
    right: Math.min(seen.width, Math.ceil(box.x + box.width)),
    top: Math.max(0, Math.floor(box.y)),
    bottom: Math.min(seen.height, Math.ceil(box.y + box.height)),
  };
};

/** A page is compared part by part, and every part is held against every placement. */
const reaches = new WeakMap<Placed["prepared"]["reach"], Rect>();

const cover = (seen: Seen, rect: Rect, covered: Uint8Array): void => {
  const { x, y, width, height } = rectAt(pixelsOf(seen), rect);
  const [from, to] = [Math.max(0, Math.floor(x)), Math.min(seen.width, Math.ceil(x + width))];
  for (let row = Math.max(0, Math.floor(y)); row < Math.min(seen.height, y + height); row++)
    if (to > from) covered.fill(1, row * seen.width + from, row * seen.width + to);
};

/** The worst cell of a placement, where its print is not what it is to be; marks as covered what it may print on. */
const compare = (
  seen: Seen,
  { width, height, toPixels, limits, reach }: Reference,
  matrix: Matrix,
  { left, right, top, bottom }: Window,
  words: readonly Rect[],
  covered: Uint8Array,
): { readonly column: number; readonly row: number } | undefined => {
  const back = inverse(multiply(pixelsOf(seen), matrix));
  const { low, high }: Limits = limits(Math.min(Math.abs(matrix[0]), Math.abs(matrix[1])) > 1e-6);
  const [a, b, c, d, e, f] = multiply(toPixels, back);
  const wide = right - left;
  const { data, width: stride } = seen;
  /** Pixels that are another than they may be, and by how many levels. */
  const wrong = new Map<number, number>();
  for (let row = top; row < bottom; row++) {
    const [uOfRow, vOfRow] = [c * (row + 0.5) + e, d * (row + 0.5) + f];
    for (let column = left; column < right; column++) {
      const u = Math.floor(a * (column + 0.5) + uOfRow);
      const v = Math.floor(b * (column + 0.5) + vOfRow);
      if (u < 1 || v < 1 || u >= width - 1 || v >= height - 1) continue;
      const at = v * width + u;
      const there = reach[at] as number;
      if (there === 0) continue;
      covered[row * stride + column] = 1;
      if (there === NEAR) continue;
      const of = (row * stride + column) * 4;
      const from = 3 * at;
      const [red, green, blue] = [data[of] as number, data[of + 1] as number, data[of + 2] as number];
      const [low0, low1, low2] = [low[from] as number, low[from + 1] as number, low[from + 2] as number];
      const [high0, high1, high2] = [high[from] as number, high[from + 1] as number, high[from + 2] as number];
      if (red >= low0 && red <= high0 && green >= low1 && green <= high1 && blue >= low2 && blue <= high2) continue;
      if (words.length > 0) {
        const [px, py] = apply(back, column + 0.5, row + 0.5);
        if (withinAny(words, px, py)) continue;
      }
      const by = Math.max(low0 - red, red - high0, low1 - green, green - high1, low2 - blue, blue - high2);
      // The outermost pixel may be mostly the neighbour's, whose bleed begins where this one's ends when the clearance is 0.
      const rim = reach[at - 1] !== 1 || reach[at + 1] !== 1 || reach[at - width] !== 1 || reach[at + width] !== 1;
      wrong.set((row - top) * wide + column - left, rim ? Math.min(by, SEAM * 255) : by);
    }
  }
  if (wrong.size < MANY) return undefined;
  const across = Math.ceil(wide / CELL);
  const counts = new Uint16Array(across * Math.ceil((bottom - top) / CELL));
  for (const [i, by] of wrong) {
    if (by <= SEAM * 255 && isThin(wrong, i, wide)) continue;
    const cell = Math.floor(i / wide / CELL) * across + Math.floor((i % wide) / CELL);
    counts[cell] = (counts[cell] ?? 0) + 1;
  }
  return worstOf(counts, across, left, top);
};

/** Whether a pixel belongs to no square of 2 x 2 that are all off: to a line one pixel wide, then. */
const isThin = (wrong: ReadonlyMap<number, number>, i: number, wide: number): boolean => {
  const square = (across: number, down: number): boolean =>
    wrong.has(i + across) && wrong.has(i + down) && wrong.has(i + across + down);
  return ![1, -1].some((across) => [wide, -wide].some((down) => square(across, down)));
};

const worstOf = (counts: Uint16Array, across: number, left: number, top: number) => {
  let [worst, most] = [-1, MANY - 1];
  counts.forEach((count, i) => {
    if (count > most) [worst, most] = [i, count];
  });
  if (worst < 0) return undefined;
  return { column: left + ((worst % across) + 0.5) * CELL, row: top + (Math.floor(worst / across) + 0.5) * CELL };
};

/** The cell with the most ink where nothing is to print. */
const strayIn = ({ data, width, height }: Seen, covered: Uint8Array) => {
  const across = Math.ceil(width / CELL);
  const counts = new Uint16Array(across * Math.ceil(height / CELL));
  for (let row = 0, i = 0; row < height; row++)
    for (let column = 0; column < width; column++, i++) {
      if (covered[i] !== 0) continue;
      const sum = (data[4 * i] as number) + (data[4 * i + 1] as number) + (data[4 * i + 2] as number);
      if (sum >= INKED) continue;
      const cell = Math.floor(row / CELL) * across + Math.floor(column / CELL);
      counts[cell] = (counts[cell] ?? 0) + 1;
    }
  return worstOf(counts, across, 0, 0);
};
