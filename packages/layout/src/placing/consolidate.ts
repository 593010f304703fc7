import type { Catalogue } from "./catalogue.ts";
import { Chance } from "./chance.ts";
import type { Budget } from "./improve.ts";
import type { Laid } from "./laid.ts";
import { type Sheet, squeeze } from "./squeeze.ts";

/** Attempts with the same pieces on the same sheet before it is left alone. */
const TRIES = 2;
/** By how much more than the fullest sheet so far a sheet may be asked to take, as a share of its room: 0.1 asks too much too often. */
const MORE = 0.03;
/** An exchange may lose so much of a sheet's room: the way out of a dead end. */
const LOSS = 0.004;

const sheetsOf = (laid: Laid): Sheet[] =>
  laid.fields.map((field, s) => {
    const ids = laid.sheet.flatMap((at, i) => (at === s ? [i] : []));
    const pick = (values: readonly number[]): number[] => ids.map((i) => values[i] as number);
    return { field, ids, kinds: pick(laid.kinds), pose: pick(laid.pose), x: pick(laid.x), y: pick(laid.y) };
  });

const laidOf = (laid: Laid, all: readonly Sheet[]): Laid => {
  const sheets = all.filter((s) => s.ids.length > 0);
  const [sheet, pose, x, y] = [laid.sheet.map(() => -1), [...laid.pose], [...laid.x], [...laid.y]];
  sheets.forEach((s, at) => {
    s.ids.forEach((i, k) => {
      sheet[i] = at;
      pose[i] = s.pose[k] as number;
      x[i] = s.x[k] as number;
      y[i] = s.y[k] as number;
    });
  });
  return { fields: sheets.map((s) => s.field), kinds: laid.kinds, sheet, pose, x, y };
};

const without = (s: Sheet, gone: readonly number[]): Sheet => {
  const keep = s.ids.map((_, k) => k).filter((k) => !gone.includes(k));
  const pick = (values: readonly number[]): number[] => keep.map((k) => values[k] as number);
  return { field: s.field, ids: pick(s.ids), kinds: pick(s.kinds), pose: pick(s.pose), x: pick(s.x), y: pick(s.y) };
};

/**
 * Gathers the free space on few sheets, two sheets at a time: the fuller one takes a piece of the other, or changes one or
 * two of its own for a larger one. Every step is a question to single sheets, so that it costs what a sheet holds, however
 * many there are. A sheet that has nothing left vanishes. Pieces not laid yet are not touched.
 *
 * Short attempts, many of them: 10 idle sweeps got 300 kit pieces onto 26 sheets in the time in which 50 reached 28.
 */
export const consolidate = (
  catalogue: Catalogue,
  laid: Laid,
  room: readonly number[],
  seed: number,
  budget: Budget,
): Laid => {
  const chance = new Chance(seed, 7);
  const sheets = sheetsOf(laid);
  // The room that a piece takes is nearer to its hull than to its area: by area, sheets of rings look empty that hold no more.
  const areaOf = (kind: number): number => (catalogue.lambda[kind] as number) ** 4;
  const roomOf = (s: Sheet): number => room[s.field] as number;
  const share = (s: Sheet): number => s.kinds.reduce((sum, k) => sum + areaOf(k), 0) / roomOf(s);
  const fill = sheets.map(share);
  let most = Math.max(0, ...fill);
  const missed = new Map<string, number>();
  let moves = 0;
  let tries = 0;
  const put = (s: Sheet, from: Sheet, pieces: readonly number[]): Sheet | undefined => {
    const added = pieces.map((q) => ({ id: from.ids[q] as number, kind: from.kinds[q] as number }));
    const { reach, patience, aborted } = budget;
    const got = squeeze(catalogue, s, added, seed * 31 + ++tries, reach, patience, aborted);
    moves += got.moves;
    return got.sheet;
  };
  /** Which pieces of `to` may go for piece `i` of `from`; undefined: this is no step worth a try. */
  const exchange = (from: Sheet, i: number, to: Sheet): number[] | undefined => {
    const larger = areaOf(from.kinds[i] as number);
    const cap = most + MORE;
    if (share(to) + larger / roomOf(to) <= cap && chance.unit() >= 0.4) return [];
    const back: number[] = [];
    const n = chance.unit() < 0.6 ? 1 : 2;
    for (let q = 0; q < n; q++) {
      const j = chance.below(to.ids.length);
      if (!back.includes(j) && to.kinds[j] !== from.kinds[i]) back.push(j);
    }
    const smaller = back.reduce((sum, j) => sum + areaOf(to.kinds[j] as number), 0);
    const gain = (larger - smaller) / roomOf(to);
    if (back.length === 0 || gain < -LOSS || share(to) + gain > cap) return undefined;
    return gain > 0 || chance.unit() < 0.3 ? back : undefined;
  };
  while (moves < budget.moves && !budget.aborted()) {
    // A proposal costs about as much as one move.
    moves++;
    const alive = sheets.flatMap((s, at) => (s.ids.length > 0 ? [at] : []));
    if (alive.length < 2) break;
    alive.sort((a, b) => (fill[a] as number) - (fill[b] as number) || a - b);
    const emptier = Math.min(alive.length - 1, Math.floor(Math.abs(chance.normal()) * 0.3 * alive.length));
    const other = (emptier + 1 + chance.below(alive.length - 1)) % alive.length;
    const [a, b] = [alive[Math.min(emptier, other)] as number, alive[Math.max(emptier, other)] as number];
    const from = sheets[a] as Sheet;
    const to = sheets[b] as Sheet;
    const i = chance.below(from.ids.length);
    const back = exchange(from, i, to);
    if (!back) continue;
    const rest = without(to, back);
    const key = `${b}:${[...rest.kinds, from.kinds[i] as number].sort((p, q) => p - q).join()}`;
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
    fill[b] = share(fuller);
    fill[a] = share(less);
    most = Math.max(most, fill[b] as number);
    budget.onMoves?.(moves);
  }
  return laidOf(laid, sheets);
};
