import type { Rect, Um } from "@kitforme/geometry";
import { fromPoints, mm } from "@kitforme/geometry";
import type { Press, Stock } from "@kitforme/kit";
import { setLine } from "@kitforme/prepress/line";
import type { SheetSize } from "./marks.ts";
import { clearHalfOf, marksOf, printableOf } from "./marks.ts";
import type { Mark } from "./sheet.ts";

/** What a printed sheet carries besides the pieces, at places that do not depend on the job. Sheet space, micrometres. */
export interface Furniture {
  readonly marks: readonly Mark[];
  /** Each mark with its free zone. */
  readonly zones: readonly Rect[];
  /** The modules of the code, and the code with its quiet zone. `module` is the width of one module, not rounded. */
  readonly code: { readonly box: Rect; readonly zone: Rect; readonly module: number };
  /** Where the two lines of the slug stand. */
  readonly slug: Rect;
}

/** Rows and columns of the code: the rectangular Data Matrix of ISO/IEC 16022 that is no higher than the marks with their zones. */
export const CODE_ROWS = 12;
export const CODE_COLUMNS = 36;
/** Least module width: 0.35 mm is common practice for sheet codes, 0.4 mm leaves something for a worn lens. */
const LEAST_MODULE: Um = mm(0.4);
/** Free modules on each side. ISO/IEC 16022 asks for one; the second allows for register and dirt. */
const QUIET = 2;

/** Type size of the slug in points: the least that prints cleanly (common practice: 5 to 6 pt). */
export const SLUG_SIZE = 6;
/** From one baseline to the next, as a share of the type size. */
export const SLUG_LEADING = 1.25;
/** Blank paper above the slug: a piece may print right up to its room. Below it nothing is printed any more. */
export const SLUG_AIR: Um = mm(0.5);
/** Room kept for the slug, whatever its words: 110 mm hold some 95 letters a line. */
const SLUG_WIDTH: Um = mm(110);

/** Between the slug and a mark's free zone, on whose edge the back has a frame: letters are to stand apart from it. */
const SLUG_GAP: Um = mm(0.5);

/** A module is a whole number of device dots, else its edges fall between dots and columns come out uneven. */
const moduleOf = (press: Press): number => {
  const dot = 25_400 / press.resolution;
  return Math.ceil(LEAST_MODULE / dot) * dot;
};

/** Room along the lower edge that the code takes with its quiet zone. */
export const codeWidthOf = (press: Press): Um =>
  Math.ceil(CODE_COLUMNS * moduleOf(press)) + 2 * Math.ceil(QUIET * moduleOf(press));

const rectAround = (x: Um, y: Um, half: Um): Rect => ({ x: x - half, y: y - half, width: 2 * half, height: 2 * half });

/**
 * Marks, code and slug of a printed sheet. Code and slug stand on the lower edge of what the press prints, in one strip with
 * the lower marks: the code beside the lower left mark, the slug in the widest room between two marks (right of the fifth, where none
 * stand along the edge), so that hardly any room is lost.
 */
export const furnitureOf = (stock: Stock, press: Press, size: SheetSize): Furniture => {
  const marks = marksOf(stock, size);
  const clear = clearHalfOf(stock);
  const [corner, , , , fifth] = marks as [Mark, Mark, Mark, Mark, Mark];
  const printable = printableOf(stock, size);

  const module = moduleOf(press);
  const quiet = Math.ceil(QUIET * module);
  const [width, height] = [Math.ceil(CODE_COLUMNS * module), Math.ceil(CODE_ROWS * module)];
  const base = Math.max(printable.y, quiet);
  // Marks of the lower edge: where more stand along it, neither code nor letters may meet one.
  const stops = [...new Set(marks.filter(({ at }) => at.y === corner.at.y).map(({ at }) => at.x))].sort(
    (a, b) => a - b,
  );
  const rooms = stops.slice(1).map((end, i) => ({ from: (stops[i] as number) + clear, to: end - clear }));
  const beside = rooms.find(({ from, to }) => to - from >= width + 2 * quiet) ?? { from: fifth.at.x + clear };
  const zone: Rect = {
    x: beside.from,
    y: base - quiet,
    width: width + 2 * quiet,
    height: height + 2 * quiet,
  };
  const box: Rect = { x: zone.x + quiet, y: base, width, height };

  // The slug takes the widest room that is left, of equals the one farther left.
  const left = rooms.map(({ from, to }) => {
    const start = from === beside.from ? zone.x + zone.width : from;
    return { from: start + SLUG_GAP, width: to - start - 2 * SLUG_GAP };
  });
  const room = left.reduce((best, one) => (one.width > best.width ? one : best), {
    from: zone.x + zone.width,
    width: 0,
  });
  const { ascent, descent } = setLine("", { size: SLUG_SIZE });
  return {
    marks,
    zones: marks.map(({ at }) => rectAround(at.x, at.y, clear)),
    code: { box, zone, module },
    slug: {
      x: room.from,
      y: printable.y,
      width: Math.min(SLUG_WIDTH, room.width),
      height: Math.ceil(ascent + descent + fromPoints(SLUG_SIZE * SLUG_LEADING)) + SLUG_AIR,
    },
  };
};
