import { inkMeets } from "./ink-meets.ts";
import { type Bounds, glyphOutline } from "./outline.ts";
import type { Run } from "./segment.ts";
import type { ShapedGlyph } from "./shaped-glyph.ts";
import type { Typeface } from "./typeface.ts";

/** Where a mark stands about its letter. */
type Side = "above" | "above left" | "above right" | "below" | "below left" | "below right" | "upon";

/** Canonical combining classes of marks by one mark of each (Unicode Character Database), with where they stand. */
const CLASSES: readonly (readonly [mark: string, side: Side, attached: boolean])[] = [
  ["\u0327", "below", true], // 202
  ["\u1dce", "above", true], // 214
  ["\u031b", "above right", true], // 216
  ["\u302a", "below left", false], // 218
  ["\u0323", "below", false], // 220
  ["\u302d", "below right", false], // 222
  ["\u302b", "above left", false], // 228
  ["\u0301", "above", false], // 230
  ["\u0315", "above right", false], // 232
];
/** Points and vowel signs, which have classes of their own. */
const [BELOW, ABOVE] = [
  /[\u05b0-\u05b8\u05bb\u05bd\u05c7\u064d\u0650]/u,
  /[\u05bf\ufb1e\u064b\u064c\u064e\u064f\u0651\u0652\u0670\u0711]/u,
];
const [LEFT, RIGHT] = [/[\u05b9\u05ba\u05c2]/u, /\u05c1/u];

/** Marks of one class keep their sequence in the canonical one, and only they do. */
const sameClass = (a: string, b: string): boolean =>
  (a + b).normalize("NFD") === a + b && (b + a).normalize("NFD") === b + a;

interface Stand {
  readonly side: Side;
  readonly attached: boolean;
}

const standOf = (mark: string): Stand => {
  const side = LEFT.test(mark)
    ? "above left"
    : RIGHT.test(mark)
      ? "above right"
      : BELOW.test(mark)
        ? "below"
        : ABOVE.test(mark)
          ? "above"
          : undefined;
  if (side) return { side, attached: false };
  const known = CLASSES.filter(([one]) => sameClass(mark, one));
  // What keeps its place beside marks of every class has none.
  const [only] = known.length === 1 ? known : [];
  return only ? { side: only[1], attached: only[2] } : { side: "upon", attached: false };
};

/** Scripts whose marks are placed so, with their tags in fonts; all others have ways of their own, and fonts that know them. */
const PLACED: readonly (readonly [letter: RegExp, tag: string])[] = [
  [/\p{Script=Latin}/u, "latn"],
  [/\p{Script=Greek}/u, "grek"],
  [/\p{Script=Cyrillic}/u, "cyrl"],
  [/\p{Script=Hebrew}/u, "hebr"],
  [/\p{Script=Arabic}/u, "arab"],
  [/\p{Script=Armenian}/u, "armn"],
  [/\p{Script=Coptic}/u, "copt"],
  [/[\p{Script=Hiragana}\p{Script=Katakana}]/u, "kana"],
];

/** Scripts in which a mark that meets its letter, or stands beside it, was forgotten by the font's rules. */
const EUROPEAN = ["latn", "grek", "cyrl"];

/** Room between a letter and its mark, em. */
const GAP = 1 / 16;

/**
 * Stands marks above and below their letters by the boxes of their ink, in a font without rules for it (feature `mark` of GPOS):
 * half of all fonts, which draw the usual letters with their marks and have the others' marks apart. The way of programs that shape text
 * (HarfBuzz, hb-ot-shape-fallback.cc), which the library here is built without.
 *
 * So are marks of European letters which such rules leave in the letter or beside it: rules name letters one by one, and name few.
 *
 * @param glyphs of one run, from left to right
 */
export const placeMarks = (
  text: string,
  { face, start: from, end, level }: Run,
  glyphs: readonly ShapedGlyph[],
): readonly ShapedGlyph[] => {
  const part = text.slice(from, end);
  if (!/\p{Mn}/u.test(part.normalize("NFD"))) return glyphs;
  const script = PLACED.find(([letter]) => letter.test(part));
  if (!script) return glyphs;
  const [, tag] = script;
  const placedByFont = face.placesMarks(tag);
  if (placedByFont && !EUROPEAN.includes(tag)) return glyphs;
  const rightToLeft = level % 2 === 1;
  const starts = [...new Set(glyphs.map(({ cluster }) => cluster))].sort((a, b) => a - b);
  return starts
    .map((start, i) => {
      const own = glyphs.filter(({ cluster }) => cluster === start);
      const letters = text.slice(start, starts[i + 1] ?? end);
      const logical = rightToLeft ? own.toReversed() : own;
      const marks = marksAmong(logical, letters, face);
      if (placedByFont && !astray(logical, marks, face)) return own;
      const placed = about(logical, marks, face, rightToLeft);
      return rightToLeft ? placed.toReversed() : placed;
    })
    .reduce<ShapedGlyph[]>((line, cluster) => (rightToLeft ? [...cluster, ...line] : [...line, ...cluster]), []);
};

/** Which glyphs of a cluster, in the sequence of writing, are which of its marks. */
const marksAmong = (
  glyphs: readonly ShapedGlyph[],
  letters: string,
  face: Typeface,
): readonly (string | undefined)[] => {
  const all = Array.from(letters.normalize("NFD"));
  const marks = all.filter((c) => /\p{Mn}/u.test(c));
  const own = new Map(marks.map((c) => [face.font.nominalGlyph(c.codePointAt(0) as number), c] as const));
  // A letter with marks alone: whatever stands behind the letter is a mark, in a form of its own (lower, for capitals) or two in one.
  const only = marks.length === all.length - 1 && /^\p{Mn}/u.test(all[0] ?? "") === false;
  const written = [Array.from(letters), all].find(({ length }) => length === glyphs.length) ?? [];
  return glyphs.map(({ glyph }, i) => own.get(glyph) ?? (only && i > 0 ? (written[i] ?? marks[0]) : undefined));
};

/** How far a mark's middle may lie beyond its letter's sides, em: those of slanted letters do. */
const ASIDE = 0.15;

/** Whether a mark that belongs above or below its letter meets the letter or another mark, or stands beside it. Runs from left to right. */
const astray = (glyphs: readonly ShapedGlyph[], marks: readonly (string | undefined)[], face: Typeface): boolean => {
  const [base] = glyphs;
  if (!base || marks[0] !== undefined || glyphs.length < 2) return false;
  const em = face.unitsPerEm;
  let pen = 0;
  const stood = glyphs.map(({ glyph, xOffset, yOffset, xAdvance }) => {
    const at = { face, glyph, x: (pen + xOffset) / em, y: yOffset / em };
    pen += xAdvance;
    return at;
  });
  return stood.some((mark, i) => {
    const name = marks[i];
    const box = glyphOutline(face, mark.glyph).bounds;
    if (name === undefined || !box) return false;
    const { side, attached } = standOf(name);
    if (attached || (side !== "above" && side !== "below")) return false;
    const middle = mark.x + (box.left + box.right) / 2 / em;
    if (middle < -ASIDE || middle > base.xAdvance / em + ASIDE) return true;
    return stood.slice(0, i).some((before) => inkMeets(before, mark));
  });
};

/** The glyphs of a cluster in the sequence of writing, the marks after the first placed about it. */
const about = (
  glyphs: readonly ShapedGlyph[],
  marks: readonly (string | undefined)[],
  face: Typeface,
  rightToLeft: boolean,
): ShapedGlyph[] => {
  const [base, ...rest] = glyphs;
  if (!base || marks[0] !== undefined) return [...glyphs];
  const ink = glyphOutline(face, base.glyph).bounds ?? { left: 0, right: 0, bottom: 0, top: 0 };
  // Across, the letter counts with its sides: an i would else push its mark to and fro.
  const letter = {
    left: 0,
    right: face.font.glyphHAdvance(base.glyph),
    bottom: ink.bottom + base.yOffset,
    top: ink.top + base.yOffset,
  };
  let pen = rightToLeft ? 0 : -base.xAdvance;
  let box = letter;
  let before = "";
  return [
    base,
    ...rest.map((glyph, i) => {
      const mark = marks[i + 1];
      const drawn = glyphOutline(face, glyph.glyph).bounds;
      if (mark === undefined) {
        pen += rightToLeft ? glyph.xAdvance : -glyph.xAdvance;
        return glyph;
      }
      if (!drawn) return { ...glyph, xAdvance: 0, xOffset: glyph.xOffset + pen };
      if (before === "" || !sameClass(before, mark)) box = letter;
      before = mark;
      const { x, y, left } = placed(standOf(mark), box, drawn, face.unitsPerEm * GAP);
      box = left;
      return { ...glyph, xAdvance: 0, xOffset: pen + x, yOffset: y };
    }),
  ];
};

/** Where a mark is moved to, and what is left for the next: the box with the mark in it. */
const placed = (
  { side, attached }: Stand,
  box: Bounds,
  mark: Bounds,
  gap: number,
): { readonly x: number; readonly y: number; readonly left: Bounds } => {
  const x = side.endsWith("left")
    ? box.left - mark.left
    : side.endsWith("right")
      ? box.right - mark.right
      : (box.left + box.right - mark.left - mark.right) / 2;
  const room = attached ? 0 : gap;
  const tall = mark.top - mark.bottom;
  if (side.startsWith("below")) {
    // A mark that is drawn lower than it need be stays there.
    const y = Math.min(0, box.bottom - room - mark.top);
    return { x, y, left: { ...box, bottom: mark.top + y - tall } };
  }
  if (side.startsWith("above")) {
    const rise = box.top + room - mark.bottom;
    // One that is drawn higher comes down by half.
    const y = rise < 0 ? rise / 2 : rise;
    return { x, y, left: { ...box, top: mark.bottom + y + tall } };
  }
  return { x, y: 0, left: box };
};
