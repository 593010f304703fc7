import { tagAt, viewOf } from "./bytes.ts";

/** What a font file says of itself, and what of that cannot be true. */
export interface Sfnt {
  /** Tables that lie inside the file, by tag. */
  readonly tables: ReadonlyMap<string, Uint8Array>;
  /** How many fonts the file holds. */
  readonly fonts: number;
  /** Why the file cannot be believed. Letters set from it may differ from the designer's. */
  readonly broken: readonly string[];
  /** Why it may have been altered after its maker saved it; its letters are drawn from tables that hold. */
  readonly doubtful: readonly string[];
}

/**
 * Tables that decide what letters look like and where they stand. All that is not named here (names, hinting, signatures)
 * may be damaged without a trace on paper. `OS/2` gives only the height of a line, and programs that change a font's
 * permission bits are known to leave its sum as it was: it raises a doubt, no more.
 */
const DRAWING = new Set(
  "cmap head hhea hmtx maxp loca glyf CFF CFF2 GSUB GPOS GDEF kern fvar gvar HVAR avar VORG morx kerx trak".split(" "),
);

/** Sum of the bytes as 32-bit numbers, the last one filled with zeros (OpenType specification, "Calculating checksums"). */
const sumOf = (bytes: Uint8Array): number => {
  const view = viewOf(bytes);
  const whole = bytes.length & ~3;
  let sum = 0;
  for (let at = 0; at < whole; at += 4) sum = (sum + view.getUint32(at)) >>> 0;
  for (let at = whole; at < bytes.length; at++) sum = (sum + ((bytes[at] as number) << (24 - 8 * (at - whole)))) >>> 0;
  return sum;
};

/** Other tables of the OpenType specification, of Apple's, and those that font editors leave in their fonts. */
const OTHERS = new Set(
  (
    "BASE CBDT CBLC COLR CPAL DSIG EBDT EBLC EBSC EPAR FFTM Feat Glat Gloc JSTF LTSH MATH MERG MVAR OS/2 PCLT PfEd Silf " +
    "Sill Silt STAT SVG TSI0 TSI1 TSI2 TSI3 TSI5 TSIB TSID TSIJ TSIP TSIS TSIV TTFA TeX VDMX VVAR bdat bhed bloc bsln cvar " +
    "cvt fdsc feat fmtx fond fpgm gasp hdmx hsty just lcar ltag meta mort name opbd post prep prop sbix vhea vmtx webf"
  ).split(" "),
);

/** What the sum of a whole file comes to, once the number at byte 8 of `head` has been added. */
const WHOLE = 0xb1b0afba;

/**
 * Reads the table directory of an sfnt file (the first font of a collection) and holds it against the file: every table
 * inside it, no tag twice, tags in rising order, every sum right. Of 707 fonts in Debian's packages not one fails any of it.
 *
 * @param rebuilt the file was put together from a packed one, whose sum does not hold for it
 */
export const readSfnt = (file: Uint8Array, rebuilt = false): Sfnt => {
  const tables = new Map<string, Uint8Array>();
  const broken: string[] = [];
  const doubtful: string[] = [];
  const view = viewOf(file);
  const collection = tagAt(view, 0) === "ttcf";
  const fonts = collection && file.length >= 12 ? view.getUint32(8) : 1;
  const start = collection ? (file.length >= 16 ? view.getUint32(12) : file.length) : 0;
  if (start + 12 > file.length)
    return { tables, fonts, broken: ["its table directory lies outside the file"], doubtful };
  const count = view.getUint16(start + 4);
  if (start + 12 + 16 * count > file.length)
    return { tables, fonts, broken: [`its directory of ${count} tables is cut short`], doubtful };
  let before = "";
  for (let i = 0; i < count; i++) {
    const at = start + 12 + 16 * i;
    const tag = tagAt(view, at);
    const [sum, offset, length] = [view.getUint32(at + 4), view.getUint32(at + 8), view.getUint32(at + 12)];
    // Tables are looked up by halving: one out of order is one that is not found.
    if (tag <= before) broken.push(`its directory names ${named(tag)} after ${named(before)}`);
    before = tag;
    // Where no sum of the whole tells of a table renamed, a name that nobody gives a table does.
    if (rebuilt && !DRAWING.has(tag.trim()) && !OTHERS.has(tag.trim()))
      doubtful.push(`it has a table ${named(tag)}, which no font program is known to write`);
    if (offset + length > file.length) {
      const missing = Math.min(length, offset + length - file.length);
      broken.push(`${missing} of the ${length} bytes of its table ${named(tag)} lie outside the file`);
      continue;
    }
    const bytes = file.subarray(offset, offset + length);
    tables.set(tag, bytes);
    const all = sumOf(bytes);
    const own = tag === "head" && length >= 12 ? (all - viewOf(bytes).getUint32(8)) >>> 0 : all;
    // In the collections of some programs the sum of head counts the sum that stands in it (uming.ttc, wqy-zenhei.ttc).
    if (collection && tag === "head" && all === sum) continue;
    if (own !== sum && DRAWING.has(tag.trim())) broken.push(`its table ${named(tag)} is not what its checksum says`);
    else if (own !== sum && tag === "OS/2") doubtful.push("its table OS/2 is not what its checksum says");
    else if (own !== sum) doubtful.push("");
  }
  const head = tables.get("head");
  // The sum of the whole file finds what those of the tables do not: a directory that leaves a table out or names it otherwise.
  const whole = head && head.length >= 12 ? sumOf(file) : WHOLE;
  if (!collection && !rebuilt && broken.length === 0 && doubtful.length === 0 && whole !== WHOLE)
    doubtful.push("the file is not what its checksum says, though its tables are");
  return { tables, fonts, broken, doubtful: doubtful.filter((why) => why !== "") };
};

const named = (tag: string): string => JSON.stringify(tag.trim());
