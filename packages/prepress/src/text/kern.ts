import type { ShapedGlyph } from "./shaped-glyph.ts";
import type { Typeface } from "./typeface.ts";

/** Moves letters by the pairs of their font; marks between two letters do not part them. */
export const kern = (text: string, end: number, face: Typeface, glyphs: readonly ShapedGlyph[]): ShapedGlyph[] => {
  const { font, kerning } = face;
  const marks = new Set(
    Array.from(
      text
        .slice(0, end)
        .normalize("NFD")
        .replace(/\P{Mn}/gu, ""),
      (c) => font.nominalGlyph(c.codePointAt(0) as number),
    ),
  );
  const letters = glyphs.map((_, i) => i).filter((i) => !marks.has(glyphs[i]?.glyph));
  const moved = [...glyphs];
  for (const [k, i] of letters.slice(0, -1).entries()) {
    const [left, right] = [glyphs[i] as ShapedGlyph, glyphs[letters[k + 1] as number] as ShapedGlyph];
    const by = kerning?.(left.glyph, right.glyph) ?? 0;
    if (by !== 0) moved[i] = { ...left, xAdvance: left.xAdvance + by };
  }
  return moved;
};
