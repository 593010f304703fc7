import { composed } from "@kitforme/kit/findings";

/** A text as it will be set: composed, without characters that steer the setting instead of being seen. */
export interface CleanText {
  readonly text: string;
  /** Code points taken out, each once, as `U+202E`. */
  readonly removed: readonly string[];
  /** Half of a surrogate pair, or a code point that is no character: the text was damaged on its way here. */
  readonly damaged: readonly string[];
}

/** `U+0041` of a code point. */
export const codePointName = (codePoint: number): string =>
  `U+${codePoint.toString(16).toUpperCase().padStart(4, "0")}`;

// Embeddings, overrides and isolates of UAX 9 can make a name read other than it is stored; soft hyphens, zero-width
// spaces, byte order marks, interlinear anchors and tags are not seen at all. The joiners U+200C and U+200D stay: Persian
// and the Indic scripts are spelt with them. So do variation selectors, and the marks of direction U+061C, U+200E and U+200F:
// they say only at which side of a word its punctuation stands, as the buyer saw it.
const STEERING = /[\u00ad\u180e\u200b\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\u{e0000}-\u{e007f}]/gu;
const CONTROL = /\p{Cc}/gu;
// A slot is one line: whatever breaks or spaces a line becomes a space.
const BREAKS = /\r\n|[\t\n\v\f\r\u0085\u2028\u2029]/gu;
const DAMAGE = /\p{Cs}|\p{Noncharacter_Code_Point}/gu;

const named = (found: Iterable<string>): string[] =>
  [...new Set([...found].map((c) => codePointName(c.codePointAt(0) as number)))].sort();

const LINE_ENDS = /\r\n|[\n\r\u0085\u2028\u2029]/u;

/**
 * Makes a text fit to be set. Spaces at both ends go silently: they would only push a centred name off its middle.
 *
 * @param breaks line ends are kept, as `\n`; else a text is one line, and they are spaces
 */
export const cleanText = (written: string, breaks = false): CleanText => {
  if (breaks) {
    const lines = written.split(LINE_ENDS).map((line) => cleanText(line));
    const every = (pick: (line: CleanText) => readonly string[]): string[] => [...new Set(lines.flatMap(pick))].sort();
    const text = lines.map((line) => line.text).join("\n");
    // Line ends around the text are a slip of the form it was typed in; those inside are meant.
    return {
      text: text.replace(/^\n+|\n+$/g, ""),
      removed: every(({ removed }) => removed),
      damaged: every(({ damaged }) => damaged),
    };
  }
  const damaged = named(written.match(DAMAGE) ?? []);
  const line = written.replace(BREAKS, " ");
  const removed = named([...(line.match(STEERING) ?? []), ...(line.match(CONTROL) ?? [])]);
  return { text: composed(line.replace(STEERING, "").replace(CONTROL, "")).trim(), removed, damaged };
};
