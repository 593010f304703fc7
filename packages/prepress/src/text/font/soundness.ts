import { viewOf } from "./bytes.ts";
import { checkCharstring } from "./check-charstring.ts";
import { checkGlyf, type Fault } from "./check-glyf.ts";
import { type Cff, readCff } from "./read-cff.ts";
import type { Sfnt } from "./sfnt.ts";

/** Why a glyph cannot be drawn as its designer drew it; `null` when it can, or when nothing says otherwise. */
export type GlyphFault = (glyph: number) => Fault | null;

/** Looks into the outlines of a font, glyph by glyph as they are asked for; each glyph once. */
export const glyphFaults = ({ tables }: Sfnt): { readonly faultOf: GlyphFault; readonly broken: readonly string[] } => {
  const known = new Map<number, Fault | null>();
  const once =
    (check: GlyphFault): GlyphFault =>
    (glyph) => {
      const before = known.get(glyph);
      if (before !== undefined) return before;
      const fault = check(glyph);
      known.set(glyph, fault);
      return fault;
    };
  const [glyf, loca, head, maxp, cff] = ["glyf", "loca", "head", "maxp", "CFF "].map((tag) => tables.get(tag));
  if (glyf && loca && head && maxp) {
    if (head.length < 54 || maxp.length < 6) return { faultOf: () => null, broken: ["its table head is cut short"] };
    const font = { glyf, loca, long: viewOf(head).getInt16(50) !== 0, count: viewOf(maxp).getUint16(4) };
    return { faultOf: once((glyph) => checkGlyf(font, glyph)), broken: [] };
  }
  if (cff) {
    let font: Cff;
    try {
      font = readCff(cff);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      return { faultOf: () => null, broken: [`its table "CFF" contradicts itself`] };
    }
    return {
      faultOf: once((glyph) => {
        const why = checkCharstring(font, glyph);
        return why === null ? null : { why, hollow: false };
      }),
      broken: [],
    };
  }
  return { faultOf: () => null, broken: [] };
};
