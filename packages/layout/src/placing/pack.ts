import type { Effort, Field, Footprint } from "../footprint.ts";
import { Bed, type Wish } from "./bed.ts";
import { Catalogue } from "./catalogue.ts";
import { fill, type Filled, orders, wishes } from "./fill.ts";
import { empty, type Laid } from "./improve.ts";
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
  /** Asked between sweeps: end the search with the best so far. For benches with a clock. */
  readonly stop?: () => boolean;
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

/** Moves of single pieces that an effort grants, per piece to lay, and the constructive starts before them. */
const GRANTED: Record<Effort, { readonly moves: number; readonly starts: number }> = {
  quick: { moves: 40, starts: 4 },
  normal: { moves: 500, starts: 16 },
  best: { moves: 5000, starts: 16 },
};
const REACH = { anywhere: 54, nearby: 20 };
const PATIENCE = { sweeps: 25, strikes: 2 };
/** Pieces searched together: the pair matrices grow with the square. */
const TOGETHER = 240;

const laidOf = (filled: Filled, list: readonly number[]): Laid => {
  const sheet = list.map(() => -1);
  const pose = list.map(() => 0);
  const x = list.map(() => 0);
  const y = list.map(() => 0);
  filled.beds.forEach(({ puts }, s) => {
    for (const p of puts) {
      sheet[p.item] = s;
      pose[p.item] = p.pose;
      x[p.item] = p.x;
      y[p.item] = p.y;
    }
  });
  return { fields: filled.beds.map(({ bed }) => bed.field), kinds: list, sheet, pose, x, y };
};

/** Those sheets of a layout with their pieces (and, with `loose`, the pieces on none), and the way back. */
const part = (laid: Laid, sheets: readonly number[], loose: boolean): { laid: Laid; pieces: number[] } => {
  const at = new Map(sheets.map((s, k) => [s, k]));
  const pieces = laid.kinds
    .map((_, i) => i)
    .filter((i) => at.has(laid.sheet[i] as number) || (loose && laid.sheet[i] === -1));
  const pick = (values: readonly number[]): number[] => pieces.map((i) => values[i] as number);
  return {
    pieces,
    laid: {
      fields: sheets.map((s) => laid.fields[s] as number),
      kinds: pick(laid.kinds),
      sheet: pick(laid.sheet).map((s) => at.get(s) ?? -1),
      pose: pick(laid.pose),
      x: pick(laid.x),
      y: pick(laid.y),
    },
  };
};

/** One layout of several parts again. */
const joined = (whole: Laid, parts: readonly { laid: Laid; pieces: readonly number[] }[]): Laid => {
  const fields: number[] = [];
  const sheet = whole.sheet.map(() => -1);
  const pose = [...whole.pose];
  const x = [...whole.x];
  const y = [...whole.y];
  for (const { laid, pieces } of parts) {
    pieces.forEach((i, k) => {
      const s = laid.sheet[k] as number;
      sheet[i] = s < 0 ? -1 : s + fields.length;
      pose[i] = laid.pose[k] as number;
      x[i] = laid.x[k] as number;
      y[i] = laid.y[k] as number;
    });
    fields.push(...laid.fields);
  }
  return { fields, kinds: whole.kinds, sheet, pose, x, y };
};

const fillsOf = (catalogue: Catalogue, laid: Laid): number[] => {
  const fills = laid.fields.map(() => 0);
  laid.sheet.forEach((s, i) => {
    if (s >= 0) fills[s] = (fills[s] as number) + (catalogue.kinds[laid.kinds[i] as number]?.area as number);
  });
  return fills;
};

/** Groups of sheets of at most `TOGETHER` pieces, in the order given. */
const groupsOf = (laid: Laid, order: readonly number[]): number[][] => {
  const count = laid.fields.map(() => 0);
  for (const s of laid.sheet) if (s >= 0) count[s] = (count[s] as number) + 1;
  const groups: number[][] = [];
  let size = Infinity;
  for (const s of order) {
    if (size + (count[s] as number) > TOGETHER) {
      groups.push([]);
      size = 0;
    }
    groups.at(-1)?.push(s);
    size += count[s] as number;
  }
  return groups;
};

const search = (
  catalogue: Catalogue,
  fields: readonly Field[],
  start: Laid,
  request: Pick<PackRequest, "effort" | "seed" | "signal" | "stop">,
  report: (laid: Laid, done: number) => void,
): Laid => {
  const room = roomOf(fields);
  const granted = GRANTED[request.effort].moves;
  const aborted = (): boolean => request.signal?.aborted === true || request.stop?.() === true;
  let laid = start;
  // First all sheets, group by group; then once more the emptiest of each group together.
  for (let pass = 0; pass < 2; pass++) {
    const fills = fillsOf(catalogue, laid);
    const order = laid.fields.map((_, s) => s);
    if (pass === 1) order.sort((a, b) => (fills[a] as number) - (fills[b] as number) || a - b);
    const groups = groupsOf(laid, order);
    if (pass === 1 && groups.length === 1) break;
    const todo = pass === 0 ? groups : groups.slice(0, 1);
    const parts = groups.map((sheets, g) => {
      const some = part(laid, sheets, g === 0);
      if (g >= todo.length) return some;
      const better = empty(catalogue, some.laid, room, request.seed * 1009 + 31 * pass + g, {
        moves: granted * some.pieces.length,
        patience: PATIENCE,
        reach: REACH,
        aborted,
      });
      report(laid, (pass + (g + 1) / todo.length) / 2);
      return { laid: better, pieces: some.pieces };
    });
    laid = joined(laid, parts);
  }
  return laid;
};

/**
 * Lays all items on as few sheets as it can, the last one emptied as far as possible.
 * Same request, same answer, whatever the machine and the number of threads. Aborting keeps the best lawful layout so far.
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
    Math.max(1, Math.min(GRANTED[request.effort].starts, Math.ceil(2000 / list.length))),
    request.maxSheets ?? Infinity,
    (f) => f.over.length === 0 && f.beds.length === 1,
  );
  const start = laidOf(filled, list);
  const all = list.reduce((sum, k) => sum + (catalogue.kinds[k]?.area as number), 0);
  const report = (laid: Laid, done: number): void => {
    request.onProgress?.({
      done: Math.round(done * list.length),
      of: list.length,
      sheets: laid.fields.length,
      yield: all / laid.fields.reduce((sum, f) => sum + areaOfField(fields[f] as Field), 0),
    });
  };
  report(start, 0);
  const laid =
    start.fields.length > 1 || filled.over.length > 0 ? search(catalogue, fields, start, request, report) : start;
  report(laid, 1);
  const sheets = laid.fields.map(
    (field, s): Packed => ({
      field,
      placements: fitting
        .map((item, i) => ({
          at: laid.sheet[i] as number,
          key: item.key,
          turn: catalogue.poses[laid.pose[i] as number]?.turn as number,
          x: laid.x[i] as number,
          y: laid.y[i] as number,
        }))
        .filter((p) => p.at === s)
        .map(({ key, turn, x, y }) => ({ key, turn, x, y })),
    }),
  );
  fitting.forEach((item, i) => {
    if ((laid.sheet[i] as number) < 0) leftovers.push({ key: item.key, overWidth: 0, overHeight: 0 });
  });
  return { sheets, leftovers };
}

/** Whether all items go onto one sheet of this field, and how. `quick` answers within milliseconds and may miss a way. */
export const packOne = (
  footprints: readonly Footprint[],
  field: Field,
  items: readonly PackItem[],
  effort: Effort,
  seed: number,
): Packed | null => {
  const fields = [field];
  const catalogue = catalogueOf(footprints, fields);
  const list = items.map((item) => item.footprint);
  const area = list.reduce((sum, k) => sum + (catalogue.kinds[k]?.area as number), 0);
  if (area > areaOfField(field)) return null;
  const starts = effort === "quick" ? 4 : 8;
  const filled = construct(
    catalogue,
    fields,
    list,
    footprints.map(() => 0),
    starts,
    1,
    (f) => f.over.length === 0,
  );
  const start = laidOf(filled, list);
  // More than a third left over is no matter of better arranging.
  const over = filled.over.reduce((sum, i) => sum + (catalogue.kinds[list[i] as number]?.area as number), 0);
  const hopeless = effort === "quick" || over > area / 3 || filled.beds.length === 0;
  const laid =
    filled.over.length === 0 || hopeless
      ? start
      : empty(catalogue, start, roomOf(fields), seed, {
          moves: (GRANTED[effort].moves / 4) * list.length,
          patience: PATIENCE,
          reach: REACH,
          aborted: () => false,
        });
  if (laid.sheet.some((s) => s < 0)) return null;
  return {
    field: 0,
    placements: items.map((item, i) => ({
      key: item.key,
      turn: catalogue.poses[laid.pose[i] as number]?.turn as number,
      x: laid.x[i] as number,
      y: laid.y[i] as number,
    })),
  };
};
