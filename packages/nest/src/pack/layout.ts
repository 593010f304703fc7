import type { Catalogue } from "../maps/catalogue.ts";
import type { Filled } from "../start/fill.ts";

/** Pieces lying on sheets, without overlap: what the search starts from and comes back with. */
export interface Layout {
  /** Field of each sheet. */
  readonly fields: readonly number[];
  /** Per piece: its kind, sheet, pose and place. A sheet of -1: not placed yet. */
  readonly kinds: readonly number[];
  readonly sheet: readonly number[];
  readonly pose: readonly number[];
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** Pieces of one sheet and where they lie. */
export interface SheetPieces {
  readonly field: number;
  /** Index of each piece in the caller's list. */
  readonly ids: readonly number[];
  readonly kinds: readonly number[];
  readonly pose: readonly number[];
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** Pieces searched together: the pair matrices grow with the square. Sheets of more each are not searched, only filled. */
export const TOGETHER = 240;

/** A constructive layout as the search sees it. */
export const layoutOf = (filled: Filled, list: readonly number[]): Layout => {
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
export const part = (
  layout: Layout,
  sheets: readonly number[],
  loose: boolean,
): { layout: Layout; pieces: number[] } => {
  const at = new Map(sheets.map((s, k) => [s, k]));
  const pieces = layout.kinds
    .map((_, i) => i)
    .filter((i) => at.has(layout.sheet[i]) || (loose && layout.sheet[i] === -1));
  const pick = (values: readonly number[]): number[] => pieces.map((i) => values[i]);
  return {
    pieces,
    layout: {
      fields: sheets.map((s) => layout.fields[s]),
      kinds: pick(layout.kinds),
      sheet: pick(layout.sheet).map((s) => at.get(s) ?? -1),
      pose: pick(layout.pose),
      x: pick(layout.x),
      y: pick(layout.y),
    },
  };
};

/** One layout of several parts again. */
export const joined = (whole: Layout, parts: readonly { layout: Layout; pieces: readonly number[] }[]): Layout => {
  const fields: number[] = [];
  const sheet = whole.sheet.map(() => -1);
  const pose = [...whole.pose];
  const x = [...whole.x];
  const y = [...whole.y];
  for (const { layout, pieces } of parts) {
    pieces.forEach((i, k) => {
      const s = layout.sheet[k];
      sheet[i] = s < 0 ? -1 : s + fields.length;
      pose[i] = layout.pose[k];
      x[i] = layout.x[k];
      y[i] = layout.y[k];
    });
    fields.push(...layout.fields);
  }
  return { fields, kinds: whole.kinds, sheet, pose, x, y };
};

/** A layout sheet by sheet. */
export const sheetsOf = (layout: Layout): SheetPieces[] => {
  const on = layout.fields.map((): number[] => []);
  layout.sheet.forEach((s, i) => on[s]?.push(i));
  return on.map((ids, s) => {
    const pick = (values: readonly number[]): number[] => ids.map((i) => values[i]);
    const { kinds, pose, x, y } = layout;
    return { field: layout.fields[s], ids, kinds: pick(kinds), pose: pick(pose), x: pick(x), y: pick(y) };
  });
};

/** Sheets that need not belong together, in one list; whose pieces they hold is forgotten. */
export const stacked = (sheets: readonly SheetPieces[]): Layout => ({
  fields: sheets.map((s) => s.field),
  kinds: sheets.flatMap((s) => s.kinds),
  sheet: sheets.flatMap((s, at) => s.kinds.map(() => at)),
  pose: sheets.flatMap((s) => s.pose),
  x: sheets.flatMap((s) => s.x),
  y: sheets.flatMap((s) => s.y),
});

/** Area of the pieces on each sheet. */
export const fillsOf = (catalogue: Catalogue, layout: Layout): number[] => {
  const fills = layout.fields.map(() => 0);
  layout.sheet.forEach((s, i) => {
    if (s >= 0) fills[s] = fills[s] + catalogue.kinds[layout.kinds[i]].area;
  });
  return fills;
};

/** Groups of sheets of at most `TOGETHER` pieces, in the order given. */
export const groupsOf = (layout: Layout, order: readonly number[]): number[][] => {
  const count = layout.fields.map(() => 0);
  for (const s of layout.sheet) if (s >= 0) count[s] = count[s] + 1;
  const groups: number[][] = [];
  let size = Infinity;
  for (const s of order) {
    if (size + count[s] > TOGETHER) {
      groups.push([]);
      size = 0;
    }
    groups.at(-1)?.push(s);
    size += count[s];
  }
  return groups;
};
