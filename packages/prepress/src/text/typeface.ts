import * as hb from "harfbuzzjs";
import { type Kerning, readKern } from "./font/read-kern.ts";
import { readSfnt } from "./font/sfnt.ts";
import { type GlyphFault, glyphFaults } from "./font/soundness.ts";
import type { Permission } from "./permission.ts";
import { permissionOf } from "./permission.ts";
import { type Unpacked, unpackFont } from "./unpack.ts";

/**
 * What of an opened font of the shaping library is used beyond it. Declared here, so that our type declarations compile without
 * those of the library, which need the declarations of yet another package.
 */
export interface ShapedFont {
  /** The glyph that stands for a code point by itself; null or undefined when there is none. */
  readonly nominalGlyph: (codePoint: number) => number | null | undefined;
  /** The glyph of a code point with a variation selector behind it (table cmap, format 14). */
  readonly variationGlyph: (codePoint: number, selector: number) => number | null | undefined;
  /** How far the pen goes for a glyph, font units. */
  readonly glyphHAdvance: (glyph: number) => number;
  /** The glyph's outline in font units, y up. */
  readonly glyphToJson: (glyph: number) => readonly { readonly type: string; readonly values: readonly number[] }[];
}

/** A font file opened for setting. Metrics are shares of the type size (em), y up from the baseline. */
export interface Typeface {
  readonly file: string;
  readonly font: ShapedFont;
  readonly unitsPerEm: number;
  /** Height above and depth below the baseline that the font keeps for a line; both positive. */
  readonly ascent: number;
  readonly descent: number;
  readonly covers: (codePoint: number) => boolean;
  readonly permission: Permission;
  /** Axes of a variable font, of which the default instance is set; empty for a plain one. */
  readonly axes: readonly string[];
  /** Scripts that it holds rules of shaping for (tags of GSUB). */
  readonly rules: ReadonlySet<string>;
  /** Whether it says where marks of a script stand about letters (feature `mark` of GPOS), by the script's tag. */
  readonly placesMarks: (tag: string) => boolean;
  /** Pairs of letters of a font that has them in a table `kern` and not in GPOS. */
  readonly kerning: Kerning | null;
  /** How many fonts the file holds, of which the first is set: more than 1 in a collection. */
  readonly fonts: number;
  /** Why the file may not be as its maker saved it, though its letters can be drawn. */
  readonly doubts: readonly string[];
  /** Why a glyph cannot be drawn as it was designed. */
  readonly faultOf: GlyphFault;
}

/** A font that cannot be set, and why. */
export interface Refusal {
  readonly file: string;
  readonly refused: "unreadable" | "colour";
  readonly reason: string;
}

/** Tables without which nothing can be set; the outlines are asked for apart. */
const NEEDED = ["cmap", "head", "hhea", "hmtx", "maxp"];
const OUTLINES = ["glyf", "CFF ", "CFF2"];
const COLOUR = ["COLR", "SVG ", "CBDT", "sbix"];

/** Opens an sfnt file (see `unpackFont`). */
export const openSfnt = (
  sfnt: Uint8Array,
  file: string,
  { doubts, rebuilt }: Omit<Unpacked, "sfnt"> = { doubts: [], rebuilt: false },
): Typeface | Refusal => {
  const read = readSfnt(sfnt, rebuilt);
  if (read.broken.length > 0) return { file, refused: "unreadable", reason: listed(read.broken) };
  const face = new hb.Face(new hb.Blob(sfnt));
  const has = (tag: string): boolean => (face.referenceTable(tag)?.length ?? 0) > 0;
  const refuse = (refused: Refusal["refused"], reason: string): Refusal => ({ file, refused, reason });
  const missing = NEEDED.filter((tag) => !has(tag));
  if (missing.length > 0) return refuse("unreadable", `its tables ${missing.join(", ")} are missing or broken`);
  const colour = COLOUR.filter(has);
  if (colour.length > 0) return refuse("colour", `it paints its letters itself (table ${colour.join(", ").trim()})`);
  if (!OUTLINES.some(has)) return refuse("unreadable", "it holds no outlines");
  const outlines = glyphFaults(read);
  if (outlines.broken.length > 0) return refuse("unreadable", listed(outlines.broken));
  const font = new hb.Font(face);
  const unicodes = new Set(face.collectUnicodes());
  if (unicodes.size === 0) return refuse("unreadable", "it names no characters");
  const positions = face.getTableFeatureTags("GPOS");
  const kern = read.tables.get("kern");
  const { ascender, descender } = font.hExtents();
  // `referenceTable` hands out a view of wasm memory that any later call may detach: read it at once.
  const permission = permissionOf(face.referenceTable("OS/2")?.slice());
  return {
    file,
    font,
    unitsPerEm: face.upem,
    ascent: ascender / face.upem,
    descent: -descender / face.upem,
    covers: (codePoint) => unicodes.has(codePoint),
    permission,
    axes: Object.keys(face.getAxisInfos()),
    rules: new Set(face.getTableScriptTags("GSUB")),
    placesMarks: marksOf(face),
    kerning: kern && !positions.includes("kern") ? readKern(kern) : null,
    fonts: read.fonts,
    doubts: [...doubts, ...read.doubtful],
    faultOf: outlines.faultOf,
  };
};

/** The default language of a script, in the shaping library's numbers. */
const DEFAULT_LANGUAGE = 0xffff;

/** Scripts for which the rules of GPOS hold where it does not name a script, one after another (as shaping looks for them). */
const OTHERWISE = ["DFLT", "dflt", "latn"];

const marksOf = (face: hb.Face): Typeface["placesMarks"] => {
  const scripts = face.getTableScriptTags("GPOS");
  const placed = scripts.map((_, i) => face.getLanguageFeatureTags("GPOS", i, DEFAULT_LANGUAGE).includes("mark"));
  return (tag) => placed[[tag, ...OTHERWISE].map((name) => scripts.indexOf(name)).find((i) => i >= 0) ?? -1] ?? false;
};

/** The first few of many reasons: a file cut off at half has as many as tables. */
const listed = (reasons: readonly string[]): string =>
  reasons.length > 3
    ? `${reasons.slice(0, 3).join("; ")}; and ${reasons.length - 3} more such faults`
    : reasons.join("; ");

// Opening a font costs some milliseconds and a copy of the file; the same bytes come back for every name of an order.
const opened = new WeakMap<Uint8Array, Promise<Typeface | Refusal>>();

/** Opens a font file of a kit, whatever its packing. The same byte array is opened once. */
export const openTypeface = (bytes: Uint8Array, file: string): Promise<Typeface | Refusal> => {
  const known = opened.get(bytes);
  if (known) return known;
  const opening = unpackFont(bytes).then(
    ({ sfnt, ...how }) => openSfnt(sfnt, file, how),
    (reason: unknown): Refusal => ({
      file,
      refused: "unreadable",
      reason: reason instanceof Error ? reason.message : String(reason),
    }),
  );
  opened.set(bytes, opening);
  return opening;
};
