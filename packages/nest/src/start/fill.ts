import { Bed, type Spot, type Wish } from "./bed.ts";
import type { Catalogue } from "../maps/catalogue.ts";

/** Where a piece of the list went. */
export interface Put extends Spot {
  /** Index into the list of kinds. */
  readonly item: number;
}

export interface Filled {
  readonly beds: { readonly bed: Bed; readonly puts: Put[] }[];
  /** Indices into the list of kinds that found no place within the sheets allowed. */
  readonly over: number[];
}

/** Ways to choose among resting places. All are tried where time allows; the best result counts. */
export const wishes = (catalogue: Catalogue, field: { width: number; height: number }): Wish[] => {
  const { minX, minY, maxX, maxY } = catalogue;
  const across = field.width < field.height;
  const far: Wish = (p, x, y) => (across ? y + maxY[p] : x + maxX[p]);
  const near: Wish = (p, x, y) => (across ? x + maxX[p] : y + maxY[p]);
  return [
    (p, x, y) => far(p, x, y) + 1e-3 * near(p, x, y),
    (p, x, y) => (across ? y + (minY[p] + maxY[p]) / 2 : x + (minX[p] + maxX[p]) / 2) + 1e-3 * near(p, x, y),
    (p, x, y) => far(p, x, y) + 0.25 * near(p, x, y),
    (p, x, y) => (across ? y + minY[p] : x + minX[p]) + 1e-3 * near(p, x, y),
  ];
};

/** Sequences in which pieces are placed: large ones first by one measure or another. Ties by kind, then by place in the list. */
export const sequencesOf = (catalogue: Catalogue, list: readonly number[]): Int32Array[] => {
  const by = (measure: (kind: number) => number): Int32Array => {
    const size = catalogue.kinds.map((_, k) => measure(k));
    return Int32Array.from(list, (_, i) => i).sort(
      (a, b) => size[list[b]] - size[list[a]] || list[a] - list[b] || a - b,
    );
  };
  const box = (k: number) =>
    (
      catalogue.kinds[k] as { shapeBox: (t: number) => { minX: number; maxX: number; minY: number; maxY: number } }
    ).shapeBox(0);
  return [
    by((k) => catalogue.kinds[k].area),
    by((k) => catalogue.lambda[k] ** 4),
    by((k) => catalogue.diameter[k]),
    by((k) => Math.max(box(k).maxX - box(k).minX, box(k).maxY - box(k).minY)),
  ];
};

/** So many unfinished sheets are tried for a piece before a new one is taken: keeps 5,000 pieces from going quadratic. */
const OPEN_SHEETS = 8;

/** Places pieces one by one, each on the first sheet with a place for it. `maxSheets` limits the sheets. */
export const fill = (
  catalogue: Catalogue,
  list: readonly number[],
  order: Int32Array,
  fieldFor: (kind: number) => number,
  room: readonly number[],
  wishOn: (field: number) => Wish,
  posesOf: (field: number, kind: number) => readonly number[],
  options: { readonly thorough: boolean; readonly maxSheets: number; readonly few?: boolean },
): Filled => {
  const beds: { bed: Bed; puts: Put[]; full: Set<number> }[] = [];
  const over: number[] = [];
  for (const item of order) {
    const kind = list[item];
    const area = catalogue.kinds[kind].area;
    let placed = false;
    const hopeful = beds
      .slice(-4 * OPEN_SHEETS)
      .filter(({ bed, full }) => !full.has(kind) && bed.area + area <= room[bed.field]);
    // Of hundreds of kinds the emptiest sheets first: a miss costs the maps of all that lies there.
    if (options.few) hopeful.sort((a, b) => a.bed.area - b.bed.area);
    for (const { bed, puts, full } of hopeful.slice(0, OPEN_SHEETS)) {
      const spot = bed.best(posesOf(bed.field, kind), wishOn(bed.field), options.thorough);
      if (spot) {
        bed.put(spot);
        puts.push({ ...spot, item });
        placed = true;
        break;
      }
      full.add(kind);
    }
    if (placed) continue;
    if (beds.length >= options.maxSheets) {
      over.push(item);
      continue;
    }
    const bed = new Bed(catalogue, fieldFor(kind));
    const spot = bed.best(posesOf(bed.field, kind), wishOn(bed.field), options.thorough);
    if (!spot) {
      over.push(item);
      continue;
    }
    bed.put(spot);
    beds.push({ bed, puts: [{ ...spot, item }], full: new Set() });
  }
  return { beds, over };
};
