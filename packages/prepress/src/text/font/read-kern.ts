import { viewOf } from "./bytes.ts";

/** What two glyphs beside each other, as they stand from left to right, are moved together or apart; font units. */
export type Kerning = (left: number, right: number) => number;

/** Bits of a subtable's coverage (OpenType specification, table kern; Apple's has them elsewhere). */
const [HORIZONTAL, MINIMUM, CROSS] = [0x01, 0x02, 0x04];
const APPLES_OTHER = 0xe0;

interface Subtable {
  readonly at: number;
  readonly overrides: boolean;
}

/** Subtables of ordered pairs (format 0) for lines that run across. */
const subtablesOf = (table: Uint8Array): readonly Subtable[] => {
  const view = viewOf(table);
  const apples = view.getUint16(0) === 1;
  const count = apples ? view.getUint32(4) : view.getUint16(2);
  const found: Subtable[] = [];
  let at = apples ? 8 : 4;
  for (let i = 0; i < count && at + (apples ? 16 : 14) <= table.length; i++) {
    const head = apples ? 8 : 6;
    const [format, bits] = apples ? [table[at + 5], table[at + 4]] : [table[at + 4], table[at + 5]];
    const wanted = apples
      ? ((bits ?? 0) & APPLES_OTHER) === 0
      : ((bits ?? 0) & (HORIZONTAL | MINIMUM | CROSS)) === HORIZONTAL;
    if (format === 0 && wanted) found.push({ at: at + head, overrides: !apples && ((bits ?? 0) & 0x08) !== 0 });
    // A length of 16 bits overflows in tables of more than 10,920 pairs: the pairs say where the subtable ends.
    at +=
      format === 0 ? head + 8 + 6 * view.getUint16(at + head) : apples ? view.getUint32(at) : view.getUint16(at + 2);
  }
  return found;
};

/**
 * Pairs of a `kern` table, which older fonts have instead of rules in GPOS; null where it has none. The shaping library is built
 * without it.
 */
export const readKern = (table: Uint8Array): Kerning | null => {
  const pairs = new Map<number, number>();
  try {
    const view = viewOf(table);
    for (const { at, overrides } of subtablesOf(table)) {
      const count = view.getUint16(at);
      for (let i = 0; i < count; i++) {
        const entry = at + 8 + 6 * i;
        const key = view.getUint32(entry);
        pairs.set(key, (overrides ? 0 : (pairs.get(key) ?? 0)) + view.getInt16(entry + 4));
      }
    }
  } catch (error) {
    // Cut short: what it has of pairs holds.
    if (!(error instanceof RangeError)) throw error;
  }
  return pairs.size === 0 ? null : (left, right) => pairs.get(left * 65_536 + right) ?? 0;
};
