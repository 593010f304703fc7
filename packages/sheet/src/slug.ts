import { fromPoints } from "@kitforme/geometry";
import { setLine } from "@kitforme/prepress/line";
import type { Furniture } from "./furniture.ts";
import { SLUG_LEADING, SLUG_SIZE } from "./furniture.ts";

/** What the slug tells the people at press and cutter. */
export interface SlugFacts {
  readonly job: string;
  readonly sheet: number;
  readonly of: number;
  readonly run: number;
  readonly cutAs: number;
  /** Of sheets that are printed on both. */
  readonly side?: "front" | "back";
  /** Printing condition; left out: the press has none. */
  readonly condition?: string;
  /** The edge that goes into the press first; left out: not known. */
  readonly feed?: string;
  readonly stockTitle: string;
  /** The first day that something on the sheet is due; left out: no order says. */
  readonly due?: string;
  readonly orders: readonly string[];
}

export interface Slug {
  /** Both lines as one. */
  readonly words: string;
  /** Absolute path data of the sheet, y up. */
  readonly outlines: string;
}

const DOT = " · ";
/** Letters that a line of the slug has room for on a large sheet. */
const LETTERS = 95;
const graphemes = new Intl.Segmenter("en", { granularity: "grapheme" });

/** Orders by name as far as they fit: all of them, the first few `and n more`, or only their number. */
const ordersShort = (orders: readonly string[], fits: (text: string) => boolean): string => {
  const all = orders.join(", ");
  if (fits(all)) return all;
  let best = orders.length === 1 ? "1 order" : `${orders.length} orders`;
  for (let shown = 1; shown < orders.length; shown++) {
    const text = `${orders.slice(0, shown).join(", ")} and ${orders.length - shown} more`;
    if (!fits(text)) break;
    best = text;
  }
  return best;
};

/** A line cut to what fits, with an ellipsis where something is gone. */
const cutShort = (line: string, fits: (text: string) => boolean): string => {
  if (fits(line)) return line;
  const letters = Array.from(graphemes.segment(line), ({ segment }) => segment);
  const shortened = (n: number): string => `${letters.slice(0, n).join("").trimEnd()}…`;
  // The longest that fits, by halving: a line is hardly ever narrower for one letter more.
  let [fitting, tooMany] = [0, letters.length];
  while (tooMany - fitting > 1) {
    const middle = (fitting + tooMany) >> 1;
    if (fits(shortened(middle))) fitting = middle;
    else tooMany = middle;
  }
  return fitting > 0 ? shortened(fitting) : "";
};

/** The two lines: above what sheet of what job it is, below what it is for. */
const linesOf = (facts: SlugFacts, fits: (text: string) => boolean): string[] => {
  const { job, sheet, of, run, cutAs, side, condition, feed, stockTitle, due, orders } = facts;
  const above = [`Job ${job}`, `sheet ${sheet} of ${of}`, ...(side ? [side] : []), `run ${run}`];
  if (cutAs !== sheet) above.push(`cut as sheet ${cutAs}`);
  if (condition !== undefined) above.push(condition);
  if (feed !== undefined) above.push(`feed edge ${feed}`);
  const below = [...(due === undefined ? [] : [`due ${due}`]), stockTitle];
  const before = [...below];
  if (orders.length > 0) below.push(ordersShort(orders, (text) => fits([...before, text].join(DOT))));
  return [above, below].map((parts) => cutShort(parts.join(DOT), fits));
};

/** The slug in words alone, for a sheet that is not printed. */
export const slugWords = (facts: SlugFacts): string => linesOf(facts, (text) => text.length <= LETTERS).join(DOT);

/** The slug of a sheet in two lines, set into its box. */
export const setSlug = (facts: SlugFacts, box: Furniture["slug"]): Slug => {
  // Some letters hang out of their width (the J by 0.08 em), and the box borders on a mark's free zone.
  const hang = fromPoints(SLUG_SIZE) / 4;
  const lines = linesOf(facts, (text) => setLine(text, { size: SLUG_SIZE }).width <= box.width - 2 * hang);
  const { descent } = setLine("", { size: SLUG_SIZE });
  const outlines = lines.map((line, i) => {
    const baseline = box.y + descent + (1 - i) * fromPoints(SLUG_SIZE * SLUG_LEADING);
    return setLine(line, { size: SLUG_SIZE, at: [box.x + hang, baseline] }).outlines;
  });
  return { words: lines.join(DOT), outlines: outlines.filter((data) => data !== "").join(" ") };
};
