import { viewOf } from "./bytes.ts";

/** TrueType outlines: the tables that hold them. */
export interface Glyf {
  readonly glyf: Uint8Array;
  readonly loca: Uint8Array;
  readonly long: boolean;
  readonly count: number;
}

/** Why a glyph cannot be drawn as its designer drew it. */
export interface Fault {
  readonly why: string;
  /** A part of it has no ink. */
  readonly hollow: boolean;
}

/** Flags of a component (OpenType specification, table glyf, "Composite glyph description"). */
const WORDS = 0x0001;
const SCALE = 0x0008;
const MORE = 0x0020;
const TWO_SCALES = 0x0040;
const MATRIX = 0x0080;
/** Flags of a point. */
const [SHORT_X, SHORT_Y, REPEAT, SAME_X, SAME_Y] = [0x02, 0x04, 0x08, 0x10, 0x20];
/** Composites within composites; the specification names no limit, real fonts stay below 4. */
const DEEPEST = 16;

/** Where a glyph lies in `glyf`, or why nowhere. */
const rangeOf = ({ glyf, loca, long, count }: Glyf, glyph: number): readonly [number, number] | string => {
  if (glyph >= count) return `glyph ${glyph} is beyond its ${count} glyphs`;
  const size = long ? 4 : 2;
  if ((glyph + 2) * size > loca.length) return `glyph ${glyph} has no entry in its table "loca"`;
  const view = viewOf(loca);
  const at = (i: number): number => (long ? view.getUint32(4 * i) : 2 * view.getUint16(2 * i));
  const [from, to] = [at(glyph), at(glyph + 1)];
  if (from > to || to > glyf.length) return `glyph ${glyph} lies outside its table "glyf"`;
  return [from, to];
};

/**
 * Why a TrueType glyph cannot be drawn as its designer drew it; `null` when it can. Follows composites to their ends: every
 * component is there and does not lead back to itself. `hollow` is a component without ink: a letter that lost its accent,
 * or a space that is built of a space.
 */
export const checkGlyf = (font: Glyf, glyph: number, above: readonly number[] = []): Fault | null => {
  const fault = faultIn(font, glyph, above);
  return typeof fault === "string" ? { why: fault, hollow: false } : fault;
};

const faultIn = (font: Glyf, glyph: number, above: readonly number[]): Fault | string | null => {
  if (above.includes(glyph)) return `glyph ${glyph} is built of itself`;
  if (above.length > DEEPEST) return `glyph ${above[0]} is built of parts more than ${DEEPEST} deep`;
  const range = rangeOf(font, glyph);
  if (typeof range === "string") return range;
  const [from, to] = range;
  if (from === to)
    return above.length > 0
      ? { why: `glyph ${above.at(-1)} is built of glyph ${glyph}, which is empty`, hollow: true }
      : null;
  const bytes = font.glyf.subarray(from, to);
  try {
    return viewOf(bytes).getInt16(0) >= 0 ? checkSimple(bytes, glyph) : checkComposite(font, bytes, glyph, above);
  } catch (error) {
    if (error instanceof RangeError) return `glyph ${glyph} is cut short`;
    throw error;
  }
};

const checkSimple = (bytes: Uint8Array, glyph: number): string | null => {
  const view = viewOf(bytes);
  const contours = view.getInt16(0);
  let points = 0;
  for (let i = 0; i < contours; i++) {
    const end = view.getUint16(10 + 2 * i) + 1;
    if (end <= points) return `the contours of glyph ${glyph} are out of order`;
    points = end;
  }
  if (contours === 0) return null;
  let at = 10 + 2 * contours;
  at += 2 + view.getUint16(at);
  let data = 0;
  for (let point = 0; point < points; ) {
    const flag = view.getUint8(at++);
    const times = 1 + (flag & REPEAT ? view.getUint8(at++) : 0);
    const size = (flag & SHORT_X ? 1 : flag & SAME_X ? 0 : 2) + (flag & SHORT_Y ? 1 : flag & SAME_Y ? 0 : 2);
    point += times;
    if (point > points) return `glyph ${glyph} has more flags than points`;
    data += times * size;
  }
  return at + data > bytes.length ? `glyph ${glyph} is cut short` : null;
};

const checkComposite = (
  font: Glyf,
  bytes: Uint8Array,
  glyph: number,
  above: readonly number[],
): Fault | string | null => {
  const view = viewOf(bytes);
  let hollow: Fault | null = null;
  for (let at = 10, flags = MORE; flags & MORE; ) {
    flags = view.getUint16(at);
    const fault = checkGlyf(font, view.getUint16(at + 2), [...above, glyph]);
    if (fault && !fault.hollow) return fault;
    hollow ??= fault;
    at += 4 + (flags & WORDS ? 4 : 2) + (flags & SCALE ? 2 : flags & TWO_SCALES ? 4 : flags & MATRIX ? 8 : 0);
    if (at > bytes.length) return `glyph ${glyph} is cut short`;
  }
  return hollow;
};
