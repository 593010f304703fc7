import { glyphOutline } from "./outline.ts";
import type { Run } from "./segment.ts";
import { shapeRun } from "./shape.ts";
import type { Typeface } from "./typeface.ts";

/** What a font that has every letter of a text still does not set as it is meant. */
export type Lapse =
  /** A mark without a letter to stand on. */
  | { readonly kind: "alone"; readonly cluster: string }
  /** One sign of several characters that comes out as so many signs. */
  | { readonly kind: "parted"; readonly face: Typeface; readonly cluster: string; readonly signs: number }
  /** A form asked for by a variation selector that comes out as the usual one. */
  | { readonly kind: "variant"; readonly face: Typeface; readonly cluster: string }
  /** A script whose letters change with their neighbours, in a font that holds no rules for it. */
  | { readonly kind: "unshaped"; readonly face: Typeface; readonly script: string; readonly joins: boolean };

const graphemes = new Intl.Segmenter("en", { granularity: "grapheme" });
const clustersOf = (text: string): string[] => Array.from(graphemes.segment(text), ({ segment }) => segment);

/** Lapses of a line that has been cut into runs. */
export const lapsesOf = (text: string, runs: readonly Run[]): readonly Lapse[] => [
  ...[...text.matchAll(/(?:^| )(\p{M})/gu)].map((found): Lapse => ({ kind: "alone", cluster: found[1] as string })),
  ...runs.flatMap((run) => {
    const part = text.slice(run.start, run.end);
    return [
      ...circled(text, run),
      ...clustersOf(part).flatMap((cluster) => [...parted(cluster, run.face), ...plain(cluster, run.face)]),
      ...unshaped(part, run.face),
    ];
  }),
];

/** The sign that shaping puts under a mark it finds no letter for (Unicode Standard, section 2.11). */
const CIRCLE = 0x25cc;

const circled = (text: string, run: Run): Lapse[] => {
  const circle = run.face.font.nominalGlyph(CIRCLE);
  const part = text.slice(run.start, run.end);
  if (!circle || part.includes("\u25cc") || !/\p{M}/u.test(part)) return [];
  return shapeRun(text, run, true)
    .filter(({ glyph }) => glyph === circle)
    .map(({ cluster }) => {
      const rest = text.slice(cluster, run.end);
      return { kind: "alone", cluster: /\p{M}/u.exec(rest)?.[0] ?? rest };
    });
};

/** Emoji of several: joined, in a colour of skin, flags (Unicode Technical Standard 51). */
const JOINED = /\p{Extended_Pictographic}.*\u200d|.\p{Emoji_Modifier}|^\p{Regional_Indicator}{2}$/u;

const parted = (cluster: string, face: Typeface): Lapse[] => {
  if (!JOINED.test(cluster)) return [];
  const signs = drawn(cluster, face).filter((glyph) => glyphOutline(face, glyph).bounds).length;
  return signs > 1 ? [{ kind: "parted", face, cluster, signs }] : [];
};

// FE0E and FE0F choose between coloured emoji and plain ones: ours are plain.
const VARIANT = /.[\ufe00-\ufe0d\u{e0100}-\u{e01ef}]/gu;

const plain = (cluster: string, face: Typeface): Lapse[] =>
  [...cluster.matchAll(VARIANT)].flatMap(([pair]) => {
    const [letter, selector] = Array.from(pair) as [string, string];
    if (face.font.variationGlyph(letter.codePointAt(0) as number, selector.codePointAt(0) as number)) return [];
    // A font may do it by rules of shaping instead.
    const shown = drawn(pair, face).filter((glyph) => glyphOutline(face, glyph).bounds);
    return shown.join() === drawn(letter, face).join() ? [{ kind: "variant", face, cluster: pair }] : [];
  });

const drawn = (text: string, face: Typeface): number[] =>
  shapeRun(text, { face, start: 0, end: text.length, level: 0 }).map(({ glyph }) => glyph);

/** Scripts whose letters join, with one of each that joins on both sides. */
const JOINING: readonly (readonly [script: string, letter: string])[] = [
  ["Arabic", "\u0628"],
  ["Syriac", "\u0712"],
  ["Mongolian", "\u182a"],
  ["Nko", "\u07de"],
  ["Mandaic", "\u0841"],
  ["Phags_Pa", "\ua842"],
  ["Adlam", "\u{1e904}"],
  ["Hanifi_Rohingya", "\u{10d01}"],
];

/**
 * Scripts whose signs are moved and stacked by rules of the font, and their tags there (OpenType script tags); fonts of the later ones
 * often have all rules under DFLT (Noto Sans Tai Tham).
 */
const STACKING: readonly (readonly [script: string, tags: string])[] = [
  ["Devanagari", "deva dev2 dev3"],
  ["Bengali", "beng bng2 bng3"],
  ["Gurmukhi", "guru gur2 gur3"],
  ["Gujarati", "gujr gjr2 gjr3"],
  ["Oriya", "orya ory2 ory3"],
  ["Tamil", "taml tml2 tml3"],
  ["Telugu", "telu tel2 tel3"],
  ["Kannada", "knda knd2 knd3"],
  ["Malayalam", "mlym mlm2 mlm3"],
  ["Sinhala", "sinh"],
  ["Tibetan", "tibt"],
  ["Myanmar", "mymr mym2"],
  ["Khmer", "khmr"],
  ["Javanese", "java DFLT"],
  ["Balinese", "bali DFLT"],
  ["Tai_Tham", "lana DFLT"],
  ["Cham", "cham DFLT"],
  ["Chakma", "cakm DFLT"],
  ["Meetei_Mayek", "mtei DFLT"],
];

const unshaped = (part: string, face: Typeface): Lapse[] => [
  ...JOINING.flatMap(([script, letter]): Lapse[] => {
    const joined = new RegExp(`\\p{Script=${script}}`, "u").test(part) && part.match(/\p{L}\p{M}*\p{L}/u);
    if (!joined || !face.covers(letter.codePointAt(0) as number)) return [];
    const alone = face.font.nominalGlyph(letter.codePointAt(0) as number);
    const level = script === "Mongolian" || script === "Phags_Pa" ? 0 : 1;
    const word = shapeRun(letter.repeat(3), { face, start: 0, end: 3 * letter.length, level });
    return word.every(({ glyph }) => glyph === alone) ? [{ kind: "unshaped", face, script, joins: true }] : [];
  }),
  ...STACKING.flatMap(([script, tags]): Lapse[] => {
    // Only the signs of a script need rules; bare letters stand one beside another.
    if (!new RegExp(`(?=\\p{M})\\p{Script=${script}}`, "u").test(part)) return [];
    return tags.split(" ").some((tag) => face.rules.has(tag)) ? [] : [{ kind: "unshaped", face, script, joins: false }];
  }),
];
