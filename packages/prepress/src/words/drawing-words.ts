import type { FindingView } from "@kitforme/kit";
import { error, note, quoted, sayer, warning, type Place, type Words } from "@kitforme/kit/findings";
import type { Report } from "../artwork/report.ts";

/** What is found while a drawing is drawn. */
export interface DrawnFacts {
  "artwork-external-reference": { readonly names: readonly string[] };
  "drawing-seen-two-ways": { readonly width: number; readonly height: number; readonly share: number };
  "drawing-seen-once": object;
  /** A drawing that no page of vectors expresses in full. */
  "drawing-pixels": { readonly what: string; readonly resolution: number };
  "font-missing": { readonly family: string; readonly instead: string; readonly text: string; readonly named: boolean };
  "font-style-missing": { readonly family: string; readonly style: string; readonly text: string };
  "letter-missing": { readonly letters: readonly string[]; readonly tried: readonly string[]; readonly text: string };
  "letter-from-other-font": {
    readonly letters: readonly string[];
    readonly family: string;
    readonly text: string;
  };
  "text-set": { readonly families: readonly string[]; readonly texts: number };
  "text-not-set": { readonly why: string; readonly text: string };
  "font-unusable": { readonly file: string; readonly why: string };
  "picture-coarse": {
    readonly picture: string;
    readonly pixels: readonly [number, number];
    readonly size: readonly [number, number];
    readonly ppi: number;
    readonly wanted: number;
  };
  "picture-turned": { readonly pictures: number };
  "picture-colours": { readonly picture: string; readonly what: string; readonly remedy: string };
  "picture-damaged": { readonly picture: string; readonly what: string | undefined };
}

const OUTLINES = "Turn the text into outlines before export";
const list = (words: readonly string[]): string => words.join(", ");

const DRAWN_WORDS: Words<DrawnFacts> = {
  "artwork-external-reference": ({ names }) =>
    error(
      `The drawing names ${list(names.slice(0, 3).map(quoted))}${names.length > 3 ? ` and ${names.length - 3} more` : ""} outside itself; nothing outside is drawn.`,
      "Embed the pictures and styles, and export again",
    ),
  "drawing-seen-two-ways": ({ width, height, share }) =>
    warning(
      `Two renderers draw this artwork differently: over ${width} x ${height} mm here, ${share} % of the piece in all. The first is what prints.`,
      "Look at the proof. Effects that programs read in different ways are turned into pictures or plain shapes before export.",
    ),
  "drawing-seen-once": () =>
    warning(
      "A second renderer could not draw the artwork at all, so nothing was compared.",
      "Look at the proof; export it again as plain SVG if it looks otherwise than meant.",
    ),
  "drawing-pixels": ({ what, resolution }) =>
    note(
      `The drawing is printed as pixels of ${resolution} ppi, since it has ${what} (the first such thing is here).`,
      "Nothing to do where that is fine enough; turn it into plain shapes before export to print it as vectors.",
    ),
  "font-missing": ({ family, instead, text, named }) =>
    warning(
      `The text "${text}" ${named ? `asks for the font ${family}, which the kit does not bring` : "names no font"}; it is set in ${instead}.`,
      `${OUTLINES}, or put the font into the kit and name it in "fonts" of kit.json.`,
    ),
  "font-style-missing": ({ family, style, text }) =>
    warning(
      `The text "${text}" asks for ${family} ${style}, which the kit does not bring; the nearest style of ${family} is set.`,
      `${OUTLINES}, or add that style of the font to "fonts" of kit.json.`,
    ),
  "letter-missing": ({ letters, tried, text }) =>
    error(
      `No font here has ${list(letters)} of the text "${text}" (tried ${list(tried)}); it would be missing from the print.`,
      `${OUTLINES}, or name a font that has it in "fonts" of kit.json. Emoji and other coloured letters are placed as pictures.`,
    ),
  "letter-from-other-font": ({ letters, family, text }) =>
    warning(
      `${family} lacks ${list(letters)} of the text "${text}"; another font stands in.`,
      `${OUTLINES}, or choose a font that has all its letters.`,
    ),
  "text-set": ({ families, texts }) =>
    note(
      `${texts} ${texts === 1 ? "text is" : "texts are"} set in ${list(families)} from the kit's fonts.`,
      "Nothing to do; outlines would not depend on a font.",
    ),
  "text-not-set": ({ why, text }) => error(`The text "${text}" cannot be set: ${why}.`, `${OUTLINES}.`),
  "font-unusable": ({ file, why }) =>
    error(`${file} cannot set the drawing's text: ${why}.`, "Replace the font file, or turn the text into outlines."),
  "picture-coarse": ({ picture, pixels, size, ppi, wanted }) =>
    warning(
      `${picture} has ${pixels[0]} x ${pixels[1]} pixels over ${size[0]} x ${size[1]} mm: ${ppi} pixels per inch; below ${wanted} it shows.`,
      "Place a finer picture, or place it smaller.",
    ),
  "picture-turned": ({ pictures }) =>
    note(
      `${pictures === 1 ? "A picture in the drawing is" : `${pictures} pictures in the drawing are`} marked as turned by the camera, and printed upright.`,
      "Look at the proof: not every program turns such pictures.",
    ),
  "picture-colours": ({ picture, what, remedy }) =>
    error(`${picture} is a picture that cannot be used: ${what}.`, `${remedy}.`),
  "picture-damaged": ({ picture, what }) =>
    error(
      `${picture} is a picture that is damaged or cut off${what === undefined ? "" : `: ${what}`}.`,
      "Place the picture anew and export again.",
    ),
};

const say = sayer(DRAWN_WORDS);

/** Adds a finding about a drawing to the report of its piece. */
export const tell = <R extends keyof DrawnFacts>(
  report: Report,
  rule: R,
  facts: DrawnFacts[R],
  at?: readonly [x: number, y: number],
  views?: readonly FindingView[],
): void => {
  const where: Place = at ? { ...report.where, at } : report.where;
  report.findings.push({ ...say(rule, where, facts), ...(views ? { views } : {}) });
};
