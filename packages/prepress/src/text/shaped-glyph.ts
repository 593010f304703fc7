/** A glyph as shaping gives it, in font units; `cluster` is the UTF-16 offset of what it stands for. */
export interface ShapedGlyph {
  readonly glyph: number;
  readonly cluster: number;
  readonly xOffset: number;
  readonly yOffset: number;
  readonly xAdvance: number;
}
