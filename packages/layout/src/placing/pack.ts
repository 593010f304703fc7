import type { Effort, Field, Footprint } from "../footprint.ts";
import { Bed, type Wish } from "./bed.ts";
import { Catalogue } from "./catalogue.ts";
import { fill, type Filled, orders, type Put, wishes } from "./fill.ts";
import type { Box } from "./ring.ts";

/** One piece to lay. */
export interface PackItem {
  /** Index into the footprints. */
  readonly footprint: number;
  /** The caller's own number for it. */
  readonly key: number;
}

/** One sheet with pieces; x and y are whole micrometres, turns degrees counter-clockwise. */
export interface Packed {
  /** Index into the fields. */
  readonly field: number;
  readonly placements: readonly {
    readonly key: number;
    readonly turn: number;
    readonly x: number;
    readonly y: number;
  }[];
}

export interface PackProgress {
  readonly done: number;
  readonly of: number;
  readonly sheets: number;
  /** Share of the used sheets' live area that is covered, 0..1. */
  readonly yield: number;
}

export interface PackRequest {
  readonly footprints: readonly Footprint[];
  readonly fields: readonly Field[];
  readonly items: readonly PackItem[];
  readonly effort: Effort;
  readonly seed: number;
  readonly maxSheets?: number;
  /** Worker threads; the result does not depend on it. */
  readonly threads?: number;
  readonly signal?: AbortSignal;
  readonly onProgress?: (progress: PackProgress) => void;
}

/** A piece that no sheet takes, and by how much its best turn misses (micrometres; 0 = keep-outs or `maxSheets`). */
export interface Leftover {
  readonly key: number;
  readonly overWidth: number;
  readonly overHeight: number;
}

const known = new WeakMap<readonly Footprint[], Map<string, Catalogue>>();

/** The catalogue of these footprints on these fields, kept as long as the caller keeps the footprints. */
export const catalogueOf = (footprints: readonly Footprint[], fields: readonly Field[]): Catalogue => {
  let mine = known.get(footprints);
  if (!mine) known.set(footprints, (mine = new Map()));
  const key = JSON.stringify(fields);
  let catalogue = mine.get(key);
  if (!catalogue) {
    const clearance = Math.max(0, ...fields.map((f) => f.clearance));
    const free = footprints.filter((f) => f.turns === "any").length;
    catalogue = new Catalogue(footprints, fields, {
      clearance,
      // 40 um more paper between rounded corners is less than any press registers, and maps cost by the point.
      growth: { distance: 40, share: 0.002, points: 12 },
      cells: footprints.length > 40 ? 32 : 48,
      free: free > 12 ? 8 : 16,
    });
    mine.set(key, catalogue);
  }
  return catalogue;
};

const areaOfField = (field: Field): number => field.print.width * field.print.height;

/** Area a sheet has for shapes. Keep-outs are not taken off: they often lie beyond the print area. */
const roomOf = (fields: readonly Field[]): number[] => fields.map(areaOfField);

/** Fields by falling area, and for each kind the first that takes it. */
const homes = (catalogue: Catalogue, fields: readonly Field[], kinds: number): number[] => {
  const sorted = fields
    .map((_, f) => f)
    .sort((a, b) => areaOfField(fields[b] as Field) - areaOfField(fields[a] as Field) || a - b);
  return Array.from({ length: kinds }, (_, kind) => {
    for (const f of sorted) {
      const poses = catalogue.posesOn[f]?.[kind] as number[];
      if (
        poses.some((p) => fitsBox(catalogue.inner[f]?.[p] as Box)) &&
        new Bed(catalogue, f).best(poses, () => 0, true)
      )
        return f;
    }
    return -1;
  });
};

const fitsBox = (box: Box): boolean => box.maxX >= box.minX && box.maxY >= box.minY;

const missing = (
  catalogue: Catalogue,
  fields: readonly Field[],
  kind: number,
): { overWidth: number; overHeight: number } => {
  let best = { overWidth: Infinity, overHeight: Infinity };
  fields.forEach((_, f) => {
    for (const p of catalogue.posesOn[f]?.[kind] ?? []) {
      const box = catalogue.inner[f]?.[p] as Box;
      const overWidth = Math.max(0, box.minX - box.maxX);
      const overHeight = Math.max(0, box.minY - box.maxY);
      if (overWidth + overHeight < best.overWidth + best.overHeight) best = { overWidth, overHeight };
    }
  });
  return Number.isFinite(best.overWidth) ? best : { overWidth: 0, overHeight: 0 };
};

const toPacked = (catalogue: Catalogue, items: readonly PackItem[], field: number, puts: readonly Put[]): Packed => ({
  field,
  placements: puts
    .map((p) => ({
      key: (items[p.item] as PackItem).key,
      turn: catalogue.poses[p.pose]?.turn as number,
      x: p.x,
      y: p.y,
    }))
    .sort((a, b) => a.key - b.key),
});

/** Fewer sheets first, then the emptiest sheet as empty as can be. */
const better = (a: Filled, b: Filled): boolean => {
  if (a.over.length !== b.over.length) return a.over.length < b.over.length;
  if (a.beds.length !== b.beds.length) return a.beds.length < b.beds.length;
  const least = (f: Filled): number => Math.min(...f.beds.map(({ bed }) => bed.area));
  return least(a) < least(b);
};

/** Wish, order, and turns: all, only those along the first one, or only those across it (rows of one turn often pack best). */
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

const construct = (
  catalogue: Catalogue,
  fields: readonly Field[],
  list: readonly number[],
  home: readonly number[],
  tries: number,
  maxSheets: number,
  enough: (filled: Filled) => boolean,
): Filled => {
  const room = roomOf(fields);
  let best: Filled | undefined;
  const sequences = orders(catalogue, list);
  const perField = fields.map((field) => wishes(catalogue, field));
  for (const [w, o, along] of TRIES.slice(0, tries)) {
    const posesOf = (f: number, kind: number): readonly number[] => {
      const all = catalogue.posesOn[f]?.[kind] as number[];
      if (along === undefined) return all;
      const first = catalogue.poses[all[0] as number]?.turn as number;
      const some = all.filter((p) => {
        const inner = catalogue.inner[f]?.[p] as Box;
        return fitsBox(inner) && (((catalogue.poses[p]?.turn as number) - first) % 180 === 0) === along;
      });
      return some.length > 0 ? some : all;
    };
    const filled = fill(
      catalogue,
      list,
      sequences[o] as Int32Array,
      (k) => home[k] as number,
      room,
      (f) => perField[f]?.[w] as Wish,
      posesOf,
      { thorough: w < 2 && list.length < 400, maxSheets },
    );
    if (!best || better(filled, best)) best = filled;
    if (enough(best)) return best;
  }
  return best as Filled;
};

/**
 * Lays all items on as few sheets as it can, the last one emptied as far as possible.
 * Same request, same answer, whatever the machine and the number of threads.
 */
export async function pack(request: PackRequest): Promise<{ sheets: Packed[]; leftovers: Leftover[] }> {
  const { footprints, fields, items } = request;
  const catalogue = catalogueOf(footprints, fields);
  const home = homes(catalogue, fields, footprints.length);
  const fitting = items.filter((item) => (home[item.footprint] as number) >= 0);
  const leftovers = items
    .filter((item) => (home[item.footprint] as number) < 0)
    .map((item) => ({ key: item.key, ...missing(catalogue, fields, item.footprint) }));
  const list = fitting.map((item) => item.footprint);
  if (list.length === 0) return { sheets: [], leftovers };
  const filled = construct(
    catalogue,
    fields,
    list,
    home,
    request.effort === "quick" ? 4 : 16,
    request.maxSheets ?? Infinity,
    (f) => f.over.length === 0 && f.beds.length === 1,
  );
  for (const item of filled.over) leftovers.push({ key: (fitting[item] as PackItem).key, overWidth: 0, overHeight: 0 });
  return { sheets: filled.beds.map(({ bed, puts }) => toPacked(catalogue, fitting, bed.field, puts)), leftovers };
}

/** Whether all items go onto one sheet of this field, and how. `quick` answers within milliseconds and may miss a way. */
export const packOne = (
  footprints: readonly Footprint[],
  field: Field,
  items: readonly PackItem[],
  effort: Effort,
  _seed: number,
): Packed | null => {
  const fields = [field];
  const catalogue = catalogueOf(footprints, fields);
  const list = items.map((item) => item.footprint);
  const area = list.reduce((sum, k) => sum + (catalogue.kinds[k]?.area as number), 0);
  if (area > areaOfField(field)) return null;
  const filled = construct(
    catalogue,
    fields,
    list,
    footprints.map(() => 0),
    effort === "quick" ? 4 : 16,
    1,
    (f) => f.over.length === 0,
  );
  if (filled.over.length > 0) return null;
  const only = filled.beds[0];
  return toPacked(catalogue, items, 0, only ? only.puts : []);
};
