import type { Field } from "../shapes/footprint.ts";
import { Bed } from "./bed.ts";
import { areaOfField, fitsBox, roomOf } from "../maps/room.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import { fill, type Filled, sequencesOf, wishes } from "./fill.ts";

/** Fields by falling area, and for each kind the first that takes it. */
export const homes = (catalogue: Catalogue, fields: readonly Field[], kinds: number): number[] => {
  const sorted = fields.map((_, f) => f).sort((a, b) => areaOfField(fields[b]) - areaOfField(fields[a]) || a - b);
  return Array.from({ length: kinds }, (_, kind) => {
    for (const f of sorted) {
      const poses = catalogue.posesOn[f][kind];
      if (poses.some((p) => fitsBox(catalogue.inner[f][p])) && new Bed(catalogue, f).best(poses, () => 0, true))
        return f;
    }
    return -1;
  });
};

/** By how much the best turn of a kind misses the field it misses least. */
export const missing = (
  catalogue: Catalogue,
  fields: readonly Field[],
  kind: number,
): { overWidth: number; overHeight: number } => {
  let best = { overWidth: Infinity, overHeight: Infinity };
  fields.forEach((_, f) => {
    for (const p of catalogue.posesOn[f]?.[kind] ?? []) {
      const box = catalogue.inner[f][p];
      const overWidth = Math.max(0, box.minX - box.maxX);
      const overHeight = Math.max(0, box.minY - box.maxY);
      if (overWidth + overHeight < best.overWidth + best.overHeight) best = { overWidth, overHeight };
    }
  });
  return Number.isFinite(best.overWidth) ? best : { overWidth: 0, overHeight: 0 };
};

/** Fewer sheets first, then the emptiest sheet as empty as can be. */
const better = (a: Filled, b: Filled): boolean => {
  if (a.over.length !== b.over.length) return a.over.length < b.over.length;
  if (a.beds.length !== b.beds.length) return a.beds.length < b.beds.length;
  const least = (f: Filled): number => Math.min(...f.beds.map(({ bed }) => bed.area));
  return least(a) < least(b);
};

/** Wish, sequence, and turns: all, only those along the first one, or only those across it (rows of one turn often pack best). */
const TRIES: readonly (readonly [wish: number, order: number, along: boolean | undefined])[] = [
  [0, 0, undefined],
  [0, 0, true],
  [0, 0, false],
  [0, 2, undefined],
  [1, 0, undefined],
  [0, 1, undefined],
  [1, 1, undefined],
  [0, 3, undefined],
  [1, 2, undefined],
  [3, 0, undefined],
  [2, 0, undefined],
  [2, 1, true],
  [2, 1, false],
  [3, 1, undefined],
  [2, 2, undefined],
  [1, 3, undefined],
];

/** Meeting points of all contact lines are looked at up to so many pieces; beyond, the search has more from the time. */
const THOROUGH = 80;

/** What is placed: kinds of pieces in a list, each with the field that is its home, on at most so many sheets. */
type Wanted = readonly [
  catalogue: Catalogue,
  fields: readonly Field[],
  list: readonly number[],
  home: readonly number[],
  tries: number,
  maxSheets: number,
  enough: (filled: Filled) => boolean,
];

/** The best of several constructive layouts; ends early once one is `enough`. */
export const construct = (...wanted: Wanted): Filled => {
  const trying = attempts(...wanted);
  for (;;) {
    const { done, value } = trying.next();
    if (done) return value;
  }
};

/** The same, with a breath for the event loop between two tries: a large request takes seconds, and who stops it waits no longer. */
export const constructInBreaths = async (...wanted: Wanted): Promise<Filled> => {
  const trying = attempts(...wanted);
  for (;;) {
    const { done, value } = trying.next();
    if (done) return value;
    await new Promise(setImmediate);
  }
};

/** Yields after each try. */
function* attempts(...[catalogue, fields, list, home, tries, maxSheets, enough]: Wanted): Generator<undefined, Filled> {
  const room = roomOf(fields);
  let best: Filled | undefined;
  const sequences = sequencesOf(catalogue, list);
  const perField = fields.map((field) => wishes(catalogue, field));
  const { many } = catalogue.options;
  for (const [w, o, along] of TRIES.slice(0, many ? 1 : tries)) {
    const posesOf = (f: number, kind: number): readonly number[] => {
      const all = catalogue.posesOn[f][kind];
      if (along === undefined) return many ? all.slice(0, 2) : all;
      const first = catalogue.poses[all[0]].turn;
      const some = all.filter((p) => {
        const inner = catalogue.inner[f][p];
        return fitsBox(inner) && ((catalogue.poses[p].turn - first) % 180 === 0) === along;
      });
      return some.length > 0 ? some : all;
    };
    const filled = fill(
      catalogue,
      list,
      sequences[o],
      (k) => home[k],
      room,
      (f) => perField[f][w],
      posesOf,
      { thorough: w < 2 && list.length < THOROUGH && !many, maxSheets, few: many },
    );
    if (!best || better(filled, best)) best = filled;
    if (enough(best)) return best;
    yield;
  }
  return best as Filled;
}
