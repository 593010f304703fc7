import type { Catalogue } from "../maps/catalogue.ts";
import { Dice } from "./dice.ts";
import { joined, type Layout, type SheetPieces, sheetsOf } from "../pack/layout.ts";
import type { Budget } from "./separate.ts";
import { squeezer, without } from "./squeeze.ts";

/** Attempts with the same pieces on the same sheet before it is left alone. */
const TRIES = 2;
/** By how much more than the fullest sheet so far a sheet may be asked to take, as a fraction of its room: 0.1 asks too much too often. */
const MORE = 0.03;
/** An exchange may lose so much of a sheet's room: the way out of a dead end. */
const LOSS = 0.004;

const layoutOf = (layout: Layout, sheets: readonly SheetPieces[]): Layout =>
  joined(
    layout,
    sheets
      .filter(({ ids }) => ids.length > 0)
      .map(({ field, ids, kinds, pose, x, y }) => ({
        layout: { fields: [field], kinds, sheet: ids.map(() => 0), pose, x, y },
        pieces: ids,
      })),
  );

/**
 * Gathers the free space on few sheets, two sheets at a time: the fuller one takes a piece of the other, or changes one or
 * two of its own for a larger one. Every step is a question to single sheets, so that it costs what a sheet holds, however
 * many there are. A sheet that has nothing left vanishes. Pieces not placed yet are not touched.
 *
 * Short attempts, many of them: 10 idle sweeps got 300 pieces onto 26 sheets in the time in which 50 reached 28.
 */
export const consolidate = (
  catalogue: Catalogue,
  layout: Layout,
  room: readonly number[],
  seed: number,
  budget: Budget,
): Layout => {
  const dice = new Dice(seed, 7);
  const sheets = sheetsOf(layout);
  // The room that a piece takes is nearer to its hull than to its area: by area, sheets of rings look empty that hold no more.
  const areaOf = (kind: number): number => catalogue.lambda[kind] ** 4;
  const roomOf = (s: SheetPieces): number => room[s.field];
  const fraction = (s: SheetPieces): number => s.kinds.reduce((sum, k) => sum + areaOf(k), 0) / roomOf(s);
  const fill = sheets.map(fraction);
  let most = Math.max(0, ...fill);
  const missed = new Map<string, number>();
  let moves = 0;
  const squeeze = squeezer(catalogue, seed, budget);
  const put = (s: SheetPieces, from: SheetPieces, pieces: readonly number[]): SheetPieces | undefined => {
    const added = pieces.map((q) => ({ id: from.ids[q], kind: from.kinds[q] }));
    const got = squeeze(s, added);
    moves += got.moves;
    return got.sheet;
  };
  /** Which pieces of `to` may go for piece `i` of `from`; undefined: this is no step worth a try. */
  const exchange = (from: SheetPieces, i: number, to: SheetPieces, filled: number): number[] | undefined => {
    const larger = areaOf(from.kinds[i]);
    const cap = most + MORE;
    if (filled + larger / roomOf(to) <= cap && dice.unit() >= 0.4) return [];
    const back: number[] = [];
    const n = dice.unit() < 0.6 ? 1 : 2;
    for (let q = 0; q < n; q++) {
      const j = dice.below(to.ids.length);
      if (!back.includes(j) && to.kinds[j] !== from.kinds[i]) back.push(j);
    }
    const smaller = back.reduce((sum, j) => sum + areaOf(to.kinds[j]), 0);
    const gain = (larger - smaller) / roomOf(to);
    if (back.length === 0 || gain < -LOSS || filled + gain > cap) return undefined;
    return gain > 0 || dice.unit() < 0.3 ? back : undefined;
  };
  while (moves < budget.moves && !budget.aborted()) {
    // A proposal costs about as much as one move.
    moves++;
    const alive = sheets.flatMap((s, at) => (s.ids.length > 0 ? [at] : []));
    if (alive.length < 2) break;
    alive.sort((a, b) => fill[a] - fill[b] || a - b);
    const emptier = Math.min(alive.length - 1, Math.floor(Math.abs(dice.normal()) * 0.3 * alive.length));
    const other = (emptier + 1 + dice.below(alive.length - 1)) % alive.length;
    const [a, b] = [alive[Math.min(emptier, other)], alive[Math.max(emptier, other)]];
    const from = sheets[a] as SheetPieces;
    const to = sheets[b] as SheetPieces;
    const i = dice.below(from.ids.length);
    const back = exchange(from, i, to, fill[b]);
    if (!back) continue;
    const rest = without(to, back);
    const key = `${b}:${[...rest.kinds, from.kinds[i]].sort((p, q) => p - q).join()}`;
    const misses = missed.get(key) ?? 0;
    if (misses >= TRIES) continue;
    const fuller = put(rest, from, [i]);
    if (!fuller) {
      missed.set(key, misses + 1);
      continue;
    }
    const less = back.length > 0 ? put(without(from, [i]), to, back) : without(from, [i]);
    if (!less) continue;
    sheets[b] = fuller;
    sheets[a] = less;
    fill[b] = fraction(fuller);
    fill[a] = fraction(less);
    most = Math.max(most, fill[b]);
  }
  return layoutOf(layout, sheets);
};
