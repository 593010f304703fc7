// One walk over the pixels of a sheet is one thing, though it is long.
import { apply, inverse, type Matrix, multiply, outlinesBounds, type Rect, ringsOf } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Placed, Sheet } from "@kitforme/sheet";
import type { ProofFault } from "./fault.ts";
import { fillRings } from "./fill-rings.ts";
import { findShift } from "./find-shift.ts";
import { markWindow } from "./prove-marks.ts";
import type { Reference, References } from "./reference.ts";
import { darkness, pixelsOf, pointOf, type Seen } from "./seen.ts";

/** Levels of 255 that two drawings of one picture may differ by beyond their neighbours': turned pictures are sampled anew. */
const LEVELS = 28;
/**
 * Where two shapes meet within a pixel, each covers half of it and what lies beneath shines through by a quarter, in every
 * renderer: paper, or a shape of any colour. Such a seam is a line one pixel wide.
 */
const SEAM = 0.25;
/** Faults are counted in cells of so many pixels (1 mm); so many wrong ones of 36 are no accident of sampling. */
const CELL = 6;
const MANY = 5;
/** How far a print may be found from its place, micrometres: good ones are found within 0.09 mm, and 0.3 mm is to be seen. */
const OFF = 180;
/** No other print may be so near to a pixel by which a place is told, in pixels. */
const CLEAR = 3;
/** What lies so near to words is left to the proof of the words, micrometres. */
const AROUND_WORDS = 400;

/** How a placement lies on a page. */
export const onPage = (sheet: Sheet, { matrix }: Placed, side: "front" | "back"): Matrix =>
  side === "back" && sheet.back ? multiply(sheet.back.matrix, matrix) : matrix;

/** What prints on a side of a placement besides its artwork. */
const sideOf = <T extends { readonly side?: "back" }>(all: readonly T[] = [], side: "front" | "back"): readonly T[] =>
  all.filter((one) => (one.side ?? "front") === side);

/** The reference of a placement's side. */
export const referenceOf = (
  { prepared, pictures }: Placed,
  press: Press,
  side: "front" | "back",
  references: Pick<References, "of" | "colourOf">,
): Promise<Reference> => references.of(prepared, press, side, sideOf(pictures, side));

/**
 * The printed page laid over what every piece on it is to look like: ink that is missing or another, at its place; and ink
 * where none belongs, as a printed line of the cutter's.
 */
export const provePicture = async (
  sheet: Sheet,
  press: Press,
  side: "front" | "back",
  seen: Seen,
  references: Pick<References, "of" | "colourOf">,
): Promise<{ readonly faults: ProofFault[]; readonly worst: number; readonly unmeasured: number }> => {
  const faults: ProofFault[] = [];
  let [worst, unmeasured] = [0, 0];
  const owners = ownersOf(sheet, side, seen);
  const covered = new Uint8Array(seen.width * seen.height);
  for (const [i, placed] of sheet.placed.entries()) {
    const face = side === "back" ? placed.prepared.back : placed.prepared;
    if (!face) continue;
    const reference = await referenceOf(placed, press, side, references);
    const words = sideOf(placed.texts, side).map(({ outlines, ground, rim }) =>
      grown(boundsOfData(`${outlines} ${ground?.outlines ?? ""}`), AROUND_WORDS + (rim?.width ?? 0)),
    );
    const cell = compare(seen, reference, onPage(sheet, placed, side), placed, words, covered);
    const { kit, piece } = placed.prepared.piece;
    const matrix = onPage(sheet, placed, side);
    const toDrawing = inverse(multiply(pixelsOf(seen), matrix));
    const alone = (at: number): boolean => owners[at] === 0 || owners[at] === i + 1;
    const shift = findShift(seen, reference, matrix, (column, row) => {
      const at = row * seen.width + column;
      if (!alone(at) || ![CLEAR, -CLEAR, CLEAR * seen.width, -CLEAR * seen.width].every((by) => alone(at + by)))
        return false;
      const [x, y] = words.length > 0 ? apply(toDrawing, column + 0.5, row + 0.5) : [0, 0];
      return !words.some((r) => x > r.x && x < r.x + r.width && y > r.y && y < r.y + r.height);
    });
    if (shift) worst = Math.max(worst, shift.by);
    else unmeasured++;
    if (shift && shift.by > OFF) {
      const [x, y] = apply(matrix, shift.at.x, shift.at.y);
      const far = (shift.by / 1000).toFixed(2);
      const what = `the print of place ${placed.number} (${kit}, ${piece}) lies ${far} mm off, or is turned or scaled by as much`;
      faults.push({ check: "print", what, at: { x, y } });
    }
    if (!cell) continue;
    const what = `place ${placed.number} (${kit}, ${piece}) does not look like its artwork with its bleed`;
    faults.push({ check: "print", what, at: pointOf(seen, cell.column, cell.row) });
  }
  const inks = side === "back" ? (sheet.back?.inks ?? []) : sheet.inks;
  const own = [
    ...inks.map(({ outlines }) => boundsOfData(outlines)),
    ...(side === "back" ? [] : sheet.marks.map((mark) => markWindow(mark, 0))),
  ];
  for (const rect of own) cover(seen, rect, covered);
  const stray = cells(seen, (i) => covered[i] === 0 && darkness(seen.data, 4 * i) > 0.1);
  if (stray)
    faults.push({
      check: "print",
      what: "there is ink where nothing is to print",
      at: pointOf(seen, stray.column, stray.row),
    });
  return { faults, worst, unmeasured };
};

/** Whose print each pixel of a page is: the placement's number in their order, from 1; 0 for nobody's. */
const ownersOf = (sheet: Sheet, side: "front" | "back", seen: Seen): Uint16Array => {
  const { width, height } = seen;
  const owners = new Uint16Array(width * height);
  for (const [i, placed] of sheet.placed.entries()) {
    if (side === "back" && !placed.prepared.back) continue;
    const matrix = multiply(pixelsOf(seen), onPage(sheet, placed, side));
    const rings = ringsOf(placed.prepared.reach).map((ring) => ring.map((p) => apply(matrix, p.x, p.y)));
    fillRings(rings, { width, height, rule: "evenodd" }, (row, from, to) => {
      owners.fill(i + 1, row * width + from, row * width + to);
    });
  }
  return owners;
};

const grown = ({ x, y, width, height }: Rect, by: number): Rect => ({
  x: x - by,
  y: y - by,
  width: width + 2 * by,
  height: height + 2 * by,
});

const boundsOfData = (outlines: string): Rect => {
  const numbers = (outlines.match(/-?[\d.]+(?:e-?\d+)?/g) ?? []).map(Number);
  const [xs, ys] = [numbers.filter((_, i) => i % 2 === 0), numbers.filter((_, i) => i % 2 === 1)];
  const least = (all: readonly number[]): number => all.reduce((a, b) => Math.min(a, b), Infinity);
  const most = (all: readonly number[]): number => all.reduce((a, b) => Math.max(a, b), -Infinity);
  if (numbers.length === 0) return { x: 0, y: 0, width: 0, height: 0 };
  return grown({ x: least(xs), y: least(ys), width: most(xs) - least(xs), height: most(ys) - least(ys) }, 300);
};

const cover = (seen: Seen, rect: Rect, covered: Uint8Array): void => {
  const columns = [rect.x, rect.x + rect.width].map((x) => x * seen.scale[0] - seen.left);
  const rows = [rect.y + rect.height, rect.y].map((y) => (seen.pageHeight - y) * seen.scale[1] - seen.top);
  const [from, to] = [Math.max(0, Math.floor(columns[0] ?? 0)), Math.min(seen.width, Math.ceil(columns[1] ?? 0))];
  for (let row = Math.max(0, Math.floor(rows[0] ?? 0)); row < Math.min(seen.height, rows[1] ?? 0); row++)
    if (to > from) covered.fill(1, row * seen.width + from, row * seen.width + to);
};

/** The worst cell of a placement, where its print is not what it is to be; marks as covered what it may print on. */
const compare = (
  seen: Seen,
  { width, height, toPixels, bounds, reach }: Reference,
  matrix: Matrix,
  { prepared }: Placed,
  words: readonly Rect[],
  covered: Uint8Array,
): { readonly column: number; readonly row: number } | undefined => {
  const { x, y, width: w, height: h } = grown(outlinesBounds(prepared.reach), 600);
  const toSeen = multiply(pixelsOf(seen), matrix);
  const corners = [
    [x, y],
    [x + w, y],
    [x, y + h],
    [x + w, y + h],
  ].map(([u, v]) => apply(toSeen, u as number, v as number));
  const [us, vs] = [corners.map(([u]) => u), corners.map(([, v]) => v)];
  const columns = [Math.max(0, Math.floor(Math.min(...us))), Math.min(seen.width, Math.ceil(Math.max(...us)))] as const;
  const rows = [Math.max(0, Math.floor(Math.min(...vs))), Math.min(seen.height, Math.ceil(Math.max(...vs)))] as const;
  const back = inverse(toSeen);
  const { low, high } = bounds(Math.min(Math.abs(matrix[0]), Math.abs(matrix[1])) > 1e-6);
  const [a, b, c, d, e, f] = multiply(toPixels, back);
  const across = Math.ceil((columns[1] - columns[0]) / CELL);
  const wide = columns[1] - columns[0];
  /** By how much each pixel is another than it may be: levels. */
  const off = new Uint8Array(Math.max(0, wide * (rows[1] - rows[0])));
  for (let row = rows[0]; row < rows[1]; row++)
    for (let column = columns[0]; column < columns[1]; column++) {
      const u = Math.floor(a * (column + 0.5) + c * (row + 0.5) + e);
      const v = Math.floor(b * (column + 0.5) + d * (row + 0.5) + f);
      if (u < 1 || v < 1 || u >= width - 1 || v >= height - 1) continue;
      const at = v * width + u;
      if (
        reach[at] === 0 &&
        reach[at - 1] === 0 &&
        reach[at + 1] === 0 &&
        reach[at - width] === 0 &&
        reach[at + width] === 0
      )
        continue;
      covered[row * seen.width + column] = 1;
      if (reach[at] === 0) continue;
      const of = (row * seen.width + column) * 4;
      let by = 0;
      for (let k = 0; k < 3; k++) {
        const value = seen.data[of + k] as number;
        const [least, most] = [low[3 * at + k] as number, high[3 * at + k] as number];
        const leak = most - least > LEVELS ? SEAM * (255 - least) : 0;
        by = Math.max(by, least - LEVELS - value, value - most - LEVELS - leak);
      }
      if (by <= 0) continue;
      if (words.length > 0) {
        const [px, py] = apply(back, column + 0.5, row + 0.5);
        if (words.some((r) => px > r.x && px < r.x + r.width && py > r.y && py < r.y + r.height)) continue;
      }
      off[(row - rows[0]) * wide + column - columns[0]] = Math.ceil(by);
    }
  const wrong = new Uint16Array(across * Math.ceil((rows[1] - rows[0]) / CELL));
  off.forEach((by, i) => {
    if (by === 0 || (by <= SEAM * 255 && isThin(off, i, wide))) return;
    const cell = Math.floor(i / wide / CELL) * across + Math.floor((i % wide) / CELL);
    wrong[cell] = (wrong[cell] ?? 0) + 1;
  });
  return worstOf(wrong, across, columns[0], rows[0]);
};

/** Whether a pixel belongs to no square of 2 x 2 that are all off: to a line one pixel wide, then. */
const isThin = (off: Uint8Array, i: number, wide: number): boolean => {
  const at = (by: number): boolean => (off[i + by] ?? 0) > 0;
  const square = (across: number, down: number): boolean => at(across) && at(down) && at(across + down);
  return ![1, -1].some((across) => [wide, -wide].some((down) => square(across, down)));
};

const worstOf = (wrong: Uint16Array, across: number, left: number, top: number) => {
  let [worst, most] = [-1, MANY - 1];
  wrong.forEach((count, i) => {
    if (count > most) [worst, most] = [i, count];
  });
  if (worst < 0) return undefined;
  return { column: left + ((worst % across) + 0.5) * CELL, row: top + (Math.floor(worst / across) + 0.5) * CELL };
};

/** The worst cell of the whole page by a test of pixels. */
const cells = ({ width, height }: Seen, test: (i: number) => boolean) => {
  const across = Math.ceil(width / CELL);
  const wrong = new Uint16Array(across * Math.ceil(height / CELL));
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++)
      if (test(row * width + column)) {
        const cell = Math.floor(row / CELL) * across + Math.floor(column / CELL);
        wrong[cell] = (wrong[cell] ?? 0) + 1;
      }
  return worstOf(wrong, across, 0, 0);
};
