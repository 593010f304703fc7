import { fromPoints, toPoints } from "@kitforme/geometry";
import { setLine } from "@kitforme/prepress";
import { type PDFContext, PDFHexString, PDFName, type PDFObject, type PDFRef } from "../pdf-lib.ts";
import { decimal } from "../decimal.ts";
import { pathOperators, pt } from "../pdf/content.ts";
import { flateStream } from "../pdf/image.ts";

export type Weight = "regular" | "semibold";

/** Scripts whose letters stand one beside another and are in the bundled font: Latin, Greek, Cyrillic and their punctuation. */
const PLAIN =
  /^[\u0020-\u007e\u00a0-\u02ff\u0370-\u052f\u1e00-\u1fff\u2010-\u2027\u2030-\u205e\u20a0-\u20bf\u2122\u2190-\u2193\u2212]*$/u;

/** Whether a text can be typed letter by letter. */
export const isPlain = (text: string): boolean => PLAIN.test(text.normalize("NFC"));

interface Glyph {
  readonly char: string;
  /** Index among all glyphs of the weight: 256 to a font. */
  readonly index: number;
  /** Thousandths of an em. */
  readonly advance: number;
  readonly outlines: string;
}

/** Size at which an em is 1000 micrometres, so that outlines come in thousandths of an em. */
const EM = toPoints(1000);

/**
 * Type for papers of many pages: outlines of the bundled font, each letter drawn once as a glyph of a Type 3 font, so that a
 * thousand rows stay small and can be searched. Press sheets carry no fonts at all; papers may.
 */
export class Lettering {
  private readonly glyphs = { regular: new Map<string, Glyph>(), semibold: new Map<string, Glyph>() };

  /** How wide a text runs, micrometres. */
  width(text: string, size: number, weight: Weight = "regular"): number {
    if (!isPlain(text)) return setLine(text, { size, weight }).width;
    const em = fromPoints(size);
    return this.typed(text, weight).reduce((sum, g) => sum + (g.advance * em) / 1000, 0);
  }

  /** Operators that show a text with its baseline at (x, y), micrometres, y up. */
  show(text: string, size: number, x: number, y: number, weight: Weight = "regular"): string {
    if (!isPlain(text)) return `${pathOperators(setLine(text, { size, weight, at: [x, y] }).outlines)}\nf`;
    const runs: string[] = [];
    let font = -1;
    for (const { index } of this.typed(text, weight)) {
      const code = (index % 256).toString(16).padStart(2, "0");
      if (Math.floor(index / 256) === font) runs[runs.length - 1] += code;
      else {
        font = Math.floor(index / 256);
        runs.push(`/${fontName(weight, font)} ${decimal(size, 2)} Tf <${code}`);
      }
    }
    if (runs.length === 0) return "";
    return `BT ${pt(x)} ${pt(y)} Td ${runs.map((run) => `${run}> Tj`).join(" ")} ET`;
  }

  /** The fonts of everything shown so far, for the pages' resources. */
  async fonts(context: PDFContext): Promise<Record<string, PDFRef>> {
    const made: Record<string, PDFRef> = {};
    for (const weight of ["regular", "semibold"] as const) {
      const all = [...this.glyphs[weight].values()];
      for (let i = 0; i * 256 < all.length; i++)
        made[fontName(weight, i)] = await typeThree(context, all.slice(i * 256, (i + 1) * 256));
    }
    return made;
  }

  private typed(text: string, weight: Weight): Glyph[] {
    const known = this.glyphs[weight];
    return Array.from(text.normalize("NFC"), (char) => {
      const glyph = known.get(char) ?? draw(char, weight, known.size);
      known.set(char, glyph);
      return glyph;
    });
  }
}

const fontName = (weight: Weight, index: number): string => `${weight === "regular" ? "R" : "S"}${index}`;

const draw = (char: string, weight: Weight, index: number): Glyph => {
  const between = (text: string): number => setLine(text, { size: EM, weight }).width;
  const { outlines, width } = setLine(char, { size: EM, weight });
  // A lone space is trimmed away; between letters it has its width.
  const advance = outlines === "" ? between(`n${char}n`) - between("nn") : width;
  return { char, index, advance: Math.round(advance), outlines };
};

const typeThree = async (context: PDFContext, glyphs: readonly Glyph[]): Promise<PDFRef> => {
  const procs: Record<string, PDFObject> = {};
  for (const glyph of glyphs)
    procs[glyphName(glyph)] = context.register(await flateStream(context, Buffer.from(procedure(glyph), "latin1"), {}));
  return context.register(
    context.obj({
      Type: "Font",
      Subtype: "Type3",
      // All zero: nothing is said about the glyphs' bounds.
      FontBBox: [0, 0, 0, 0],
      FontMatrix: [0.001, 0, 0, 0.001, 0, 0],
      CharProcs: procs,
      Encoding: { Type: "Encoding", Differences: [0, ...glyphs.map((glyph) => PDFName.of(glyphName(glyph)))] },
      FirstChar: 0,
      LastChar: glyphs.length - 1,
      Widths: glyphs.map((g) => g.advance),
      Resources: {},
      ToUnicode: context.register(await flateStream(context, Buffer.from(toUnicode(glyphs), "latin1"), {})),
    }),
  );
};

/** A letter's own name where it has one: some readers guess the size of a Type 3 font from the letter called `m`. */
const glyphName = ({ char }: Glyph): string => {
  if (/^[A-Za-z]$/.test(char)) return char;
  if (char === " ") return "space";
  return `u${(char.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, "0")}`;
};

const procedure = ({ advance, outlines }: Glyph): string => {
  const n = (outlines.match(/-?[\d.]+/g) ?? []).map(Number);
  const xs = n.filter((_, i) => i % 2 === 0);
  const ys = n.filter((_, i) => i % 2 === 1);
  const box = n.length === 0 ? [0, 0, 0, 0] : [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  const path = pathOperators(outlines, (value) => decimal(value, 1));
  return `${advance} 0 ${box.map((v) => decimal(v, 1)).join(" ")} d1\n${path}${path ? "\nf" : ""}`;
};

/** The table that lets a reader search and copy (ISO 32000, ToUnicode CMaps); at most 100 entries to a block. */
const toUnicode = (glyphs: readonly Glyph[]): string => {
  const entries = glyphs.map(
    ({ char }, code) =>
      `<${code.toString(16).padStart(2, "0")}> ${PDFHexString.fromText(char).toString().replace("FEFF", "")}`,
  );
  const blocks: string[] = [];
  for (let i = 0; i < entries.length; i += 100) {
    const block = entries.slice(i, i + 100);
    blocks.push(`${block.length} beginbfchar\n${block.join("\n")}\nendbfchar`);
  }
  return `/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CMapName /Letters def
/CMapType 2 def
1 begincodespacerange
<00> <ff>
endcodespacerange
${blocks.join("\n")}
endcmap
CMapName currentdict /CMap defineresource pop
end
end`;
};
