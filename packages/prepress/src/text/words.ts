import { error, note, sayer, inFigures, warning, type Place, type Words } from "@kitforme/kit/findings";
import { codePointName } from "./clean.ts";

/** What can be wrong with fonts and with what they are asked to set. Lengths in millimetres, type sizes in points. */
export interface TextFacts {
  "font-unreadable": { readonly file: string; readonly reason: string };
  "font-colour": { readonly file: string; readonly reason: string };
  "font-forbids-embedding": { readonly file: string; readonly bitmapsOnly: boolean };
  "font-permission-unknown": { readonly file: string };
  "font-variable": { readonly file: string; readonly axes: readonly string[] };
  "font-collection": { readonly file: string; readonly fonts: number };
  "font-unshaped": {
    readonly file: string;
    readonly text: string;
    readonly script: string;
    readonly joins: boolean;
  };
  "font-altered": { readonly file: string; readonly why: string };
  "glyph-damaged": { readonly file: string; readonly text: string; readonly cluster: string; readonly why: string };
  "glyph-missing": { readonly text: string; readonly lacking: readonly string[]; readonly tried: readonly string[] };
  "glyph-fallback": {
    readonly lead: string;
    readonly file: string;
    readonly text: string;
    readonly clusters: readonly string[];
  };
  "glyph-parted": { readonly file: string; readonly text: string; readonly cluster: string; readonly signs: number };
  "glyph-variant": { readonly file: string; readonly text: string; readonly cluster: string };
  "text-mark-alone": { readonly text: string; readonly cluster: string };
  "text-encoded": { readonly text: string; readonly found: string; readonly meant?: string };
  "text-blank": { readonly text: string; readonly required: boolean };
  "text-lines-touch": { readonly text: string; readonly leading: number; readonly enough: number };
  "text-damaged": { readonly text: string; readonly damaged: readonly string[] };
  "text-cleaned": { readonly text: string; readonly removed: readonly string[] };
  "text-too-many-lines": { readonly text: string; readonly lines: number; readonly most: number };
  "text-too-long": TooLarge;
  "text-too-high": TooLarge;
  "text-near-line": {
    readonly text: string;
    readonly size: number;
    readonly operation: string;
    readonly distance: number;
    readonly safe: number;
  };
  "text-off-piece": {
    readonly text: string;
    readonly size: number;
    readonly box: readonly [x: number, y: number, width: number, height: number];
  };
}

interface TooLarge {
  readonly text: string;
  readonly leastSize: number;
  readonly needed: number;
  readonly room: number;
  /** The size at which it would fit. */
  readonly most: number;
}

const quote = (text: string): string => JSON.stringify(text);
/** A grapheme cluster with its code points: `é (U+0065 U+0301)`. */
const spell = (cluster: string): string =>
  `${cluster} (${Array.from(cluster, (c) => codePointName(c.codePointAt(0) as number)).join(" ")})`;
/** The code points of a text. */
const spelt = (text: string): string => Array.from(text, (c) => codePointName(c.codePointAt(0) as number)).join(" ");
const tenths = (mm: number): string => mm.toFixed(1);
/** Rounded up, so that what is asked for is never shown smaller than it is. */
const tenthsAbove = (mm: number): string => (Math.ceil(mm * 10 - 1e-9) / 10).toFixed(1);

const LICENCE = "Ask the font's maker for a licence that allows it, or use another font.";
const tooLarge =
  (long: string, wide: string) =>
  ({ text, leastSize, needed, room, most }: TooLarge) =>
    error(
      `The text ${quote(text)} is ${tenthsAbove(needed)} mm ${long} at its least size of ${inFigures(leastSize)} pt: ${tenthsAbove(needed - room)} mm more than the box is ${wide} (${tenths(room)} mm)`,
      `Shorten the text, make the box larger, or let the text shrink to ${inFigures(most)} pt`,
    );

const TEXT_WORDS: Words<TextFacts> = {
  "font-unreadable": ({ file, reason }) =>
    error(
      `${file} cannot be used: ${reason}`,
      "Replace the file by an undamaged TrueType, OpenType, WOFF or WOFF2 font; copy it anew from where it came from",
    ),
  "font-colour": ({ file, reason }) =>
    error(`${file}: ${reason}; such a font cannot take the slot's colour`, "Use a font of plain outlines"),
  "font-forbids-embedding": ({ file, bitmapsOnly }) =>
    error(
      bitmapsOnly
        ? `${file} allows only bitmaps of its letters in documents (OS/2 fsType bit 9)`
        : `${file} forbids its use in documents (OS/2 fsType 2, restricted licence)`,
      LICENCE,
    ),
  "font-permission-unknown": ({ file }) =>
    warning(`${file} has no OS/2 table, so it does not say what its licence allows`, "Read the font's licence"),
  "font-variable": ({ file, axes }) =>
    note(
      `${file} is a variable font (${axes.join(", ")}): its default instance is set`,
      "Give a static instance if another weight or width is meant",
    ),
  "font-collection": ({ file, fonts }) =>
    note(`${file} holds ${fonts} fonts: the first is set`, "Give a file with the one font if another of them is meant"),
  "font-unshaped": ({ file, text, script, joins }) =>
    error(
      `${file} has no rules for setting ${script}: in the text ${quote(text)} ${joins ? "no letter would join the next" : "signs would stand in the wrong places"}`,
      `Use an OpenType font with rules for ${script} (table GSUB); those of Apple's tables and of Graphite are not read`,
    ),
  "font-altered": ({ file, why }) =>
    warning(
      `${file} may be damaged: ${why}`,
      "Compare the letters on the proof with the font, or copy the file anew from where it came from",
    ),
  "glyph-damaged": ({ file, text, cluster, why }) =>
    error(
      `${file} cannot draw ${spell(cluster)} of the text ${quote(text)}: ${why}`,
      "Replace the font file by an undamaged one, or use another font",
    ),
  "glyph-missing": ({ text, lacking, tried }) =>
    error(
      `No font has ${lacking.map(spell).join(", ")} of the text ${quote(text)}; tried ${tried.join(", ")}`,
      "Give the slot a font that has these characters, or spell the text without them",
    ),
  "glyph-fallback": ({ lead, file, text, clusters }) =>
    warning(
      `${lead} lacks ${clusters.map(spell).join(", ")} of the text ${quote(text)}: set in ${file}`,
      "Give the slot a font that has these characters, or accept the other letterforms",
    ),
  "glyph-parted": ({ file, text, cluster, signs }) =>
    warning(
      `${file} does not have ${spell(cluster)} of the text ${quote(text)} as one sign: it is set as ${signs} signs`,
      "Use a font that has it, or another sign",
    ),
  "glyph-variant": ({ file, text, cluster }) =>
    warning(
      `${file} does not have the form that ${spell(cluster)} of the text ${quote(text)} asks for: the usual one is set`,
      "Use a font that has this form, or accept the usual one",
    ),
  "text-mark-alone": ({ text, cluster }) =>
    warning(
      `${spell(cluster)} of the text ${quote(text)} has no letter to stand on`,
      "Write it behind its letter, or take it out; see how it stands on the proof",
    ),
  "text-encoded": ({ text, found, meant }) =>
    warning(
      meant === undefined
        ? `The text ${quote(text)} will be printed with ${quote(found)}, which a program seems to have put there`
        : `The text ${quote(text)} looks as if it had been ${quote(meant)} before a program misread it (UTF-8 taken for Windows-1252)`,
      "Compare it with what the buyer typed; correct the shop that wrote the order",
    ),
  "text-blank": ({ text, required }) =>
    (required ? error : warning)(
      `The text ${quote(text)} (${spelt(text)}) has nothing in it that can be seen: nothing is printed`,
      "Write the text again, or leave it out",
    ),
  "text-lines-touch": ({ text, leading, enough }) =>
    warning(
      `The lines of the text ${quote(text)} run into each other at a leading of ${inFigures(leading)}`,
      `Give the slot a leading of ${tenthsAbove(enough)} or more, or leave it out`,
    ),
  "text-damaged": ({ text, damaged }) =>
    error(
      `The text ${quote(text)} holds ${damaged.join(", ")}, which is not a character`,
      "Write the text again; it was damaged where it was stored or sent",
    ),
  "text-cleaned": ({ text, removed }) =>
    warning(
      `Took ${removed.join(", ")} out of the text ${quote(text)}: invisible characters that control the direction or joining of text`,
      "Check the text on the proof",
    ),
  "text-too-many-lines": ({ text, lines, most }) =>
    error(
      `The text ${quote(text)} has ${lines} lines; its slot takes ${most}`,
      "Take line ends out of the text, or let the slot have more lines",
    ),
  "text-too-long": tooLarge("long", "wide"),
  "text-too-high": tooLarge("high", "high"),
  "text-near-line": ({ text, size, operation, distance, safe }) =>
    error(
      `The text ${quote(text)} at ${inFigures(size)} pt ${distance === 0 ? "is crossed by" : `comes within ${distance.toFixed(2)} mm of`} a ${operation} line; it must stay ${safe.toFixed(2)} mm away`,
      "Move or narrow the slot's box, shorten the text, or lower the slot's least size",
    ),
  "text-off-piece": ({ text, size, box: [x, y, width, height] }) =>
    error(
      `The text ${quote(text)} at ${inFigures(size)} pt does not lie on the piece: its box starts at ${tenths(x)}, ${tenths(y)} mm and is ${tenths(width)} x ${tenths(height)} mm`,
      "Move the slot's box onto the piece",
    ),
};

const say = sayer(TEXT_WORDS);

/** Makes findings about one slot. */
export type Say = <R extends keyof TextFacts>(rule: R, facts: TextFacts[R]) => ReturnType<typeof say>;

export const sayAt =
  (where: Place): Say =>
  (rule, facts) =>
    say(rule, where, facts);
