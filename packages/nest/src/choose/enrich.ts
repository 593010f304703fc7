import type { Catalogue } from "../maps/catalogue.ts";
import { Dice } from "../search/dice.ts";
import { type Layout, type SheetPieces, sheetsOf, stacked } from "../pack/layout.ts";
import { type Counts, Prices } from "./price.ts";
import type { Budget } from "../search/separate.ts";
import { squeezer, without } from "../search/squeeze.ts";

/**
 * What an exchange may add to a sheet's worth, to begin with and at the least and most. Of 3,000 exchanges on full sheets one
 * in five came off below 0.02 and one in five hundred above 0.04. It follows the finds: one in eight attempts is to come off.
 */
const GAIN = { first: 0.012, least: 0.003, most: 0.3, up: 1.1, down: 1.1 ** (-1 / 8) };
/** Exchanges refused in a row before larger gains are allowed: with few kinds there may be no small ones. */
const REFUSED = 200;
/** Attempts with the same pieces before they are left alone. */
const TRIES = 2;
/** Sheets that exchanges start from: those worth most, the first ones more often. */
const BASES = 200;
const SPREAD = 0.1;
/** What thinking of an exchange costs beside a move. */
const THOUGHT = 0.05;
/** How many pieces leave a sheet, and come: as often as written. */
const GOING = [0, 1, 1, 2];

export const countsOf = (kinds: readonly number[], of: number): Counts => {
  const counts = new Float64Array(of);
  for (const k of kinds) counts[k] = counts[k] + 1;
  return counts;
};

interface Known {
  readonly sheet: SheetPieces;
  readonly counts: Counts;
  worth: number;
}

/**
 * New sheets that are worth more than 1 in the prices of the sheets known: one or two pieces of a sheet go, one or two
 * more expensive ones come. Prices follow every find, so that what is hard to place gets expensive and what fits into any gap costs
 * nothing. `need[k]`: pieces of kind k in the whole request, more than which no sheet holds.
 */
export const enrich = (
  catalogue: Catalogue,
  layout: Layout,
  need: readonly number[],
  seed: number,
  budget: Budget,
): Layout => {
  const { moves, aborted } = budget;
  const squeeze = squeezer(catalogue, seed, budget);
  const dice = new Dice(seed, 17);
  const prices = new Prices(need);
  const seen = new Set<string>();
  const missed = new Map<string, number>();
  const known: Known[] = [];
  const found: SheetPieces[] = [];
  const keyOf = (sheet: SheetPieces, counts: Counts): string => `${sheet.field}:${counts.join()}`;
  const add = (sheet: SheetPieces): Known => {
    const counts = countsOf(sheet.kinds, need.length);
    seen.add(keyOf(sheet, counts));
    const one = { sheet, counts, worth: prices.worth(counts) };
    known.push(one);
    return one;
  };
  const solve = (): void => {
    prices.solve(known.map((k) => k.counts));
    for (const k of known) k.worth = prices.worth(k.counts);
    known.sort((a, b) => b.worth - a.worth);
  };
  for (const sheet of sheetsOf(layout)) add(sheet);
  solve();
  const { price } = prices;
  let spent = 0;
  let fresh = 0;
  let refused = 0;
  let gainMost = GAIN.first;
  /** An exchange on this sheet that is worth trying; its pieces counted in `counts`. */
  const exchange = ({ sheet, worth }: Known, counts: Counts): { gone: number[]; added: number[] } | undefined => {
    const gone: number[] = [];
    const added: number[] = [];
    let gain = 0;
    const going = GOING[dice.below(GOING.length)];
    for (let q = 0; q < going; q++) {
      const i = dice.below(sheet.ids.length);
      if (gone.includes(i)) continue;
      const k = sheet.kinds[i];
      counts[k] = counts[k] - 1;
      gain -= price[k];
      gone.push(i);
    }
    const coming = going > 0 && dice.unit() < 0.4 ? 2 : 1;
    for (let q = 0; q < coming; q++) {
      const k = dice.below(need.length);
      if (counts[k] >= need[k] || price[k] <= 1e-9) continue;
      counts[k] = counts[k] + 1;
      gain += price[k];
      added.push(k);
    }
    return added.length === 0 || gain < 1e-6 || gain > gainMost || worth + gain < 1 ? undefined : { gone, added };
  };
  while (spent < moves && known.length > 0 && !aborted()) {
    spent += THOUGHT;
    const bases = Math.min(known.length, BASES);
    const base = known[Math.min(bases - 1, Math.floor(Math.abs(dice.normal()) * SPREAD * bases))] as Known;
    const counts = base.counts.slice();
    const change = exchange(base, counts);
    const key = keyOf(base.sheet, counts);
    const misses = missed.get(key) ?? 0;
    if (!change || seen.has(key) || misses >= TRIES) {
      if (++refused % REFUSED === 0) gainMost = Math.min(GAIN.most, gainMost * 1.3);
      continue;
    }
    refused = 0;
    const { sheet, moves: took } = squeeze(
      without(base.sheet, change.gone),
      change.added.map((kind) => ({ id: -1, kind })),
    );
    spent += took;
    gainMost = sheet ? Math.min(GAIN.most, gainMost * GAIN.up) : Math.max(GAIN.least, gainMost * GAIN.down);
    if (!sheet) {
      missed.set(key, misses + 1);
      continue;
    }
    found.push(sheet);
    // Sheets worth exactly 1 change no price; now and then they are looked through all the same, to be bases themselves.
    if (add(sheet).worth > 1 + 1e-7 || ++fresh > 50) {
      solve();
      fresh = 0;
    }
  }
  return stacked(found);
};
