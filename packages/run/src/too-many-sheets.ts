import { area } from "@kitforme/geometry";
import type { Finding, Piece, Shop } from "@kitforme/kit";
import type { Article } from "./demands-of.ts";
import { say } from "./words.ts";

/** Sheets of one stock that a job may need at the least. 100,000 are weeks of a digital press: a larger number is a slip of the keyboard (common practice, no source). */
const MOST_SHEETS = 100_000;

/** Quantities that nobody means: stocks of which more sheets would be needed than one job may have, by the area of the pieces alone. */
export const tooManySheets = (articles: readonly Article[], shop: Shop): Finding[] =>
  Object.entries(shop.stocks).flatMap(([name, { sheets }]) => {
    const own = articles.filter(({ piece }) => piece.stock === name);
    const largest = Math.max(...sheets.map(({ width, height }) => width * height));
    const needed = (copies: number, piece: Piece): number => (copies * paperOf(piece)) / largest;
    const all = own.reduce((sum, { copies, piece }) => sum + needed(copies, piece), 0);
    if (all <= MOST_SHEETS) return [];
    const byOrder = new Map<string, number>();
    for (const { wanted, piece } of own)
      for (const { order, first, last } of wanted)
        byOrder.set(order, (byOrder.get(order) ?? 0) + needed(last - first + 1, piece));
    const [order, most] = [...byOrder].reduce((one, other) => (other[1] > one[1] ? other : one));
    return [
      say(
        "job-too-many-sheets",
        { order, stock: name },
        {
          stock: name,
          pieces: own.reduce((sum, { copies }) => sum + copies, 0),
          sheets: Math.ceil(all),
          most: MOST_SHEETS,
          order,
          share: most / all,
        },
      ),
    ];
  });

const paperOf = ({ parts }: Piece): number =>
  parts.reduce(
    (sum, { outer, openings }) =>
      sum + Math.abs(area(outer)) - openings.reduce((paper, opening) => paper + Math.abs(area(opening)), 0),
    0,
  );
