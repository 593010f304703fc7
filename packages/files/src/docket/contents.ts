import type { SetText } from "@kitforme/prepress";
import type { Placed, Sheet } from "@kitforme/sheet";
import { type Job, servedBy } from "../job.ts";

// What the docket says, before it is drawn or typed: one reading of the job for both.

/** A place where pieces lie after cutting: number `place` on sheet `sheet`. Written `sheet:place`. */
export interface Pile {
  readonly sheet: number;
  readonly place: number;
}

/** So many of a piece, taken from piles. */
export interface Pick {
  readonly piece: string;
  readonly from: readonly (Pile & { readonly count: number })[];
}

/** Kit copies `first` to `last` of an order that are gathered alike: each takes these picks. */
export interface Copies {
  readonly first: number;
  readonly last: number;
  readonly words: readonly SetText[];
  readonly picks: readonly Pick[];
}

/** What one order is to be sorted together from: its kits and their copies. */
export interface PickingList {
  readonly order: string;
  readonly due?: string;
  readonly kits: readonly { readonly kit: string; readonly title: string; readonly copies: readonly Copies[] }[];
}

/** Pieces beyond what the orders need. */
export interface Overs extends Pile {
  readonly kit: string;
  readonly piece: string;
  readonly count: number;
}

/** How to gather every order, in the order of the orders. */
export const pickingLists = (job: Job): PickingList[] => {
  const piles = pilesByOrder(job);
  return job.orders.map(({ order, due, lines }) => {
    const kits = [...new Set(lines.map((l) => l.kit))].map((kit) => ({
      kit,
      title: job.titles[kit] ?? kit,
      copies: gather(
        piles.get(order)?.get(kit) ?? new Map(),
        lines.filter((l) => l.kit === kit).reduce((sum, l) => sum + l.quantity, 0),
        job.remakes !== undefined,
      ),
    }));
    return { order, ...(due === undefined ? {} : { due }), kits };
  });
};

/** Placements that make more than the orders take. */
export const oversOf = (job: Job): Overs[] =>
  job.sheets.flatMap(({ sheet }) =>
    sheet.placed.flatMap(({ number, prepared: { piece }, serves }) => {
      const count = sheet.run - servedBy(serves);
      return count > 0 ? [{ sheet: sheet.sheet, place: number, kit: piece.kit, piece: piece.piece, count }] : [];
    }),
  );

/** Numbers `first` to `last` of a piece lie at `placed` on `sheet`. */
interface Stretch {
  readonly first: number;
  readonly last: number;
  readonly sheet: Sheet;
  readonly placed: Placed;
}

type Stretches = Map<string, Stretch[]>;

/** Order to kit to piece to its stretches in rising numbers. */
const pilesByOrder = (job: Job): Map<string, Map<string, Stretches>> => {
  const all = new Map<string, Map<string, Stretches>>();
  const within = <K, V>(map: Map<K, V>, key: K, empty: () => V): V => {
    const value = map.get(key) ?? empty();
    map.set(key, value);
    return value;
  };
  for (const { sheet } of job.sheets)
    for (const placed of sheet.placed)
      for (const { order, first, last } of placed.serves) {
        const { kit, piece } = placed.prepared.piece;
        const kits = within(all, order, () => new Map<string, Stretches>());
        const pieces = within(kits, kit, (): Stretches => new Map());
        within(pieces, piece, (): Stretch[] => []).push({ first, last, sheet, placed });
      }
  for (const kits of all.values())
    for (const pieces of kits.values())
      for (const stretches of pieces.values()) stretches.sort((a, b) => a.first - b.first);
  return all;
};

/** Copies one after another; neighbours that take the same from the same piles become one entry. */
const gather = (pieces: Stretches, quantity: number, remade: boolean): Copies[] => {
  const names = [...pieces.keys()].sort();
  const next = new Map(names.map((name) => [name, 0]));
  const found: Copies[] = [];
  let before = "";
  for (let copy = 1; copy <= quantity; copy++) {
    const words = new Map<string, SetText>();
    const all = names.map((piece): Pick => {
      const stretches = pieces.get(piece) ?? [];
      const perKit = stretches[0]?.placed.prepared.piece.perKit ?? 1;
      const [first, last] = [(copy - 1) * perKit + 1, copy * perKit];
      // Copies rise, so stretches that ended before this copy are done with for good.
      let at = next.get(piece) ?? 0;
      while ((stretches[at]?.last ?? Infinity) < first) at++;
      next.set(piece, at);
      const from: (Pile & { count: number })[] = [];
      for (let i = at; i < stretches.length; i++) {
        const stretch = stretches[i];
        if (!stretch || stretch.first > last) break;
        const count = Math.min(last, stretch.last) - Math.max(first, stretch.first) + 1;
        from.push({ sheet: stretch.sheet.sheet, place: stretch.placed.number, count });
        for (const text of stretch.placed.texts) words.set(text.slot, text);
      }
      return { piece, from };
    });
    // Of a remake only what was spoiled is here; the rest of the kit lies in the parcel already.
    const picks = remade ? all.filter(({ from }) => from.length > 0) : all;
    if (remade && picks.length === 0) continue;
    const said = [...words.values()];
    const key = JSON.stringify([picks, said.map((w) => [w.slot, w.text])]);
    const alike = key === before && found.at(-1)?.last === copy - 1 ? found.pop() : undefined;
    found.push({ first: alike?.first ?? copy, last: copy, words: said, picks });
    before = key;
  }
  return found;
};

/** `3` or `3–7`. */
export const range = (first: number, last: number): string => (first === last ? `${first}` : `${first}–${last}`);

/** `1–3, 5`: whole numbers in rising order, neighbours joined. */
export const ranges = (numbers: readonly number[]): string => {
  const runs: [first: number, last: number][] = [];
  for (const n of [...new Set(numbers)].sort((a, b) => a - b)) {
    const run = runs.at(-1);
    if (run?.[1] === n - 1) run[1] = n;
    else runs.push([n, n]);
  }
  return runs.map(([first, last]) => range(first, last)).join(", ");
};

/** `wall 3 × 1:3 + 1:4`: where a kit's pieces are taken from. */
export const pickWords = ({ piece, from }: Pick): string => {
  const piles = from.map(({ sheet, place, count }) => `${count === 1 ? "" : `${count} × `}${sheet}:${place}`);
  return `${piece} ${piles.length > 0 ? piles.join(" + ") : "none made"}`;
};

/** Whose pieces a placement makes: `HL-2041 no. 1–13, HL-2042 no. 1–2; 3 over`. */
export const servesWords = ({ serves }: Placed, run: number): string => {
  const overs = run - servedBy(serves);
  const orders = serves.map(({ order, first, last }) => `${order} no. ${range(first, last)}`).join(", ");
  return overs > 0 ? `${orders}${orders ? "; " : ""}${overs} over` : orders;
};
