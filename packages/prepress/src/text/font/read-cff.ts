import { viewOf } from "./bytes.ts";

/** The parts of a CFF table that its glyphs are drawn with. */
export interface Cff {
  readonly charstrings: readonly Uint8Array[];
  readonly global: readonly Uint8Array[];
  /** Subroutines of a glyph's own font dictionary. */
  readonly localOf: (glyph: number) => readonly Uint8Array[];
}

type Dict = ReadonlyMap<number, readonly number[]>;

/** An INDEX (Adobe Technical Note 5176, section 5): its objects, and where it ends. */
const readIndex = (table: Uint8Array, at: number): { readonly items: readonly Uint8Array[]; readonly end: number } => {
  const view = viewOf(table);
  const count = view.getUint16(at);
  if (count === 0) return { items: [], end: at + 2 };
  const size = view.getUint8(at + 2);
  if (size < 1 || size > 4) throw new RangeError("offsets of an impossible size");
  const offset = (i: number): number => {
    let value = 0;
    for (let k = 0; k < size; k++) value = value * 256 + view.getUint8(at + 3 + i * size + k);
    return value;
  };
  const base = at + 2 + (count + 1) * size;
  const items = Array.from({ length: count }, (_, i) => {
    const [from, to] = [base + offset(i), base + offset(i + 1)];
    if (from > to || to > table.length || from <= base) throw new RangeError("an object outside the table");
    return table.subarray(from, to);
  });
  return { items, end: base + offset(count) };
};

/** A DICT (section 4): operator, two-byte ones as 1200 and more, to its operands. Reals are read over: no offset is one. */
const readDict = (bytes: Uint8Array): Dict => {
  const view = viewOf(bytes);
  const dict = new Map<number, readonly number[]>();
  let operands: number[] = [];
  for (let at = 0; at < bytes.length; ) {
    const b = view.getUint8(at++);
    if (b <= 21) {
      dict.set(b === 12 ? 1200 + view.getUint8(at++) : b, operands);
      operands = [];
    } else if (b === 28) {
      operands.push(view.getInt16(at));
      at += 2;
    } else if (b === 29) {
      operands.push(view.getInt32(at));
      at += 4;
    } else if (b === 30) {
      while ((view.getUint8(at++) & 0x0f) !== 0x0f);
      operands.push(Number.NaN);
    } else if (b >= 32 && b <= 246) operands.push(b - 139);
    else if (b >= 247 && b <= 250) operands.push((b - 247) * 256 + view.getUint8(at++) + 108);
    else if (b >= 251 && b <= 254) operands.push(-(b - 251) * 256 - view.getUint8(at++) - 108);
    else throw new RangeError("a number of no kind");
  }
  return dict;
};

/** Operators of top and font dictionaries. */
const [CHARSTRINGS, PRIVATE, SUBRS, FD_ARRAY, FD_SELECT] = [17, 18, 19, 1236, 1237];

/** Subroutines of the private dictionary that a font dictionary points to. */
const subrsOf = (table: Uint8Array, dict: Dict): readonly Uint8Array[] => {
  const [size, offset] = dict.get(PRIVATE) ?? [];
  if (size === undefined || offset === undefined) return [];
  if (offset + size > table.length) throw new RangeError("a private dictionary outside the table");
  const [subrs] = readDict(table.subarray(offset, offset + size)).get(SUBRS) ?? [];
  return subrs === undefined ? [] : readIndex(table, offset + subrs).items;
};

/** Reads a CFF 1 table as far as drawing needs it. Throws `RangeError` where it contradicts itself. */
export const readCff = (table: Uint8Array): Cff => {
  const view = viewOf(table);
  const names = readIndex(table, view.getUint8(2));
  const tops = readIndex(table, names.end);
  const strings = readIndex(table, tops.end);
  const global = readIndex(table, strings.end).items;
  const top = readDict(tops.items[0] ?? new Uint8Array());
  const [at] = top.get(CHARSTRINGS) ?? [];
  if (at === undefined) throw new RangeError("no charstrings");
  const charstrings = readIndex(table, at).items;
  const [array] = top.get(FD_ARRAY) ?? [];
  if (array === undefined) {
    const subrs = subrsOf(table, top);
    return { charstrings, global, localOf: () => subrs };
  }
  const locals = readIndex(table, array).items.map((dict) => subrsOf(table, readDict(dict)));
  const select = readSelect(table, top.get(FD_SELECT)?.[0] ?? table.length, charstrings.length);
  return { charstrings, global, localOf: (glyph) => locals[select(glyph)] ?? [] };
};

/** FDSelect (section 19): which font dictionary a glyph belongs to. */
const readSelect = (table: Uint8Array, at: number, glyphs: number): ((glyph: number) => number) => {
  const view = viewOf(table);
  if (view.getUint8(at) === 0) {
    const fds = table.subarray(at + 1, at + 1 + glyphs);
    return (glyph) => fds[glyph] ?? 0;
  }
  const ranges = Array.from({ length: view.getUint16(at + 1) }, (_, i) => ({
    first: view.getUint16(at + 3 + 3 * i),
    fd: view.getUint8(at + 5 + 3 * i),
  }));
  return (glyph) => ranges.findLast(({ first }) => first <= glyph)?.fd ?? 0;
};
