import { Catalogue } from "../maps/catalogue.ts";
import type { Wish } from "../start/bed.ts";
import { Dice } from "./dice.ts";
import { fill, sequencesOf, type Put } from "../start/fill.ts";

/** Starts by the plain sequences and wishes, and by the best sequence with some pieces exchanged. */
const PLAIN = 16;
const SHUFFLED = 10;
/** Pieces squared times segments of a map, over all starts: about two seconds. */
const WORK = 2e6;

/** The shortest of several constructive layouts: sequences by size, then small changes of the best. Within seconds. */
export const startStrip = (
  catalogue: Catalogue,
  pieces: readonly number[],
  height: number,
): { readonly length: number; readonly puts: readonly Put[] } => {
  const { minX, minY, maxX, maxY } = catalogue;
  const right: Wish = (p, x, y) => x + maxX[p] + 1e-3 * y;
  const low: Wish = (p, x, y) => x + maxX[p] + 0.05 * (y + maxY[p]);
  const edge: Wish = (p, x, y) => x + maxX[p] - 0.05 * Math.abs(y + (minY[p] + maxY[p]) / 2 - height / 2);
  const middle: Wish = (p, x, y) => x + (minX[p] + maxX[p]) / 2 + 1e-3 * y;
  let best: { length: number; puts: readonly Put[]; order: Int32Array; wish: Wish; thorough: boolean } | undefined;
  const attempt = (order: Int32Array, wish: Wish, thorough: boolean): void => {
    const { beds, over } = fill(
      catalogue,
      pieces,
      order,
      () => 0,
      [Infinity],
      () => wish,
      (_, k) => catalogue.posesOn[0][k],
      { thorough, maxSheets: 1 },
    );
    const puts = beds[0]?.puts ?? [];
    if (over.length > 0) return;
    const length = Math.max(...puts.map((p) => p.x + maxX[p.pose]));
    if (!best || length < best.length) best = { length, puts, order, wish, thorough };
  };
  const sorted = sequencesOf(catalogue, pieces);
  const first = catalogue.maps[catalogue.pair(0, 0)];
  const fraction = Math.min(1, WORK / (pieces.length ** 2 * first.slit.length) / (PLAIN + SHUFFLED));
  const plain = [right, low, edge, middle].flatMap((wish) =>
    sorted.map((order) => () => attempt(order, wish, wish !== middle)),
  );
  for (const start of plain.slice(0, Math.max(1, Math.round(PLAIN * fraction)))) start();
  if (!best) throw new Error("strip: a piece is higher than the strip");
  const dice = new Dice(pieces.length);
  for (let k = 0; k < Math.round(SHUFFLED * fraction); k++) {
    const order = best.order.slice();
    for (let q = 0; q < Math.ceil(order.length / 8); q++) {
      const i = dice.below(order.length - 1);
      const j = Math.min(order.length - 1, i + 1 + dice.below(4));
      const held = order[i];
      order[i] = order[j];
      order[j] = held;
    }
    attempt(order, best.wish, best.thorough);
  }
  return best;
};
