import { levelsOf } from "./levels.ts";
import type { Typeface } from "./typeface.ts";

/** A stretch of text that is shaped in one go: one font, one script, one direction. Offsets are UTF-16 units. */
export interface Run {
  readonly face: Typeface;
  readonly start: number;
  readonly end: number;
  /** Embedding level of UAX 9: odd runs right to left. */
  readonly level: number;
  /** Language whose letterforms are set (BCP 47); left out, the font's usual ones. */
  readonly language?: string;
}

export interface Segmented {
  /** In the order in which they stand on the line, from left to right. */
  readonly runs: readonly Run[];
  /** Grapheme clusters that no font covers, each once. */
  readonly missing: readonly string[];
  /** Clusters set in another font than the first, with that font. */
  readonly fallbacks: readonly { readonly face: Typeface; readonly clusters: readonly string[] }[];
}

const graphemes = new Intl.Segmenter("en", { granularity: "grapheme" });

// Shaping takes its rules from the first letter of a run, so a run must not hold two scripts. A cluster of a script that is
// not listed, of digits or of punctuation stays with the run before it.
const SCRIPTS = (
  "Latin Greek Cyrillic Armenian Hebrew Arabic Syriac Thaana Devanagari Bengali Gurmukhi Gujarati Oriya Tamil Telugu " +
  "Kannada Malayalam Sinhala Thai Lao Tibetan Myanmar Georgian Hangul Ethiopic Cherokee Khmer Mongolian Hiragana Katakana Han " +
  "Adlam Ahom Balinese Bamum Batak Bopomofo Brahmi Buginese Buhid Canadian_Aboriginal Chakma Cham Coptic Deseret Glagolitic " +
  "Gothic Grantha Gunjala_Gondi Hanifi_Rohingya Hanunoo Javanese Kaithi Kayah_Li Khojki Khudawadi Lepcha Limbu Lisu Mandaic " +
  "Masaram_Gondi Meetei_Mayek Modi Mro New_Tai_Lue Newa Nko Nyiakeng_Puachue_Hmong Ogham Ol_Chiki Osage Pahawh_Hmong Phags_Pa " +
  "Rejang Runic Samaritan Saurashtra Sharada Sogdian Sora_Sompeng Sundanese Syloti_Nagri Tagalog Tagbanwa Tai_Le Tai_Tham Tai_Viet " +
  "Takri Tifinagh Tirhuta Vai Wancho Warang_Citi Yi"
).split(" ");
const SCRIPT_TESTS = SCRIPTS.map((script) => new RegExp(`\\p{Script=${script}}`, "u"));
const scriptOf = (cluster: string): number => SCRIPT_TESTS.findIndex((test) => test.test(cluster));

const IGNORABLE = /\p{Default_Ignorable_Code_Point}/u;
/** Ideographs that are canonically others, though drawn as a bearer of the name wants them: never set as those. */
const OWN_FORM = /[\uf900-\ufaff\u{2f800}-\u{2fa1f}]/u;
const allCovered = (face: Typeface, text: string): boolean =>
  Array.from(text).every((c) => face.covers(c.codePointAt(0) as number) || IGNORABLE.test(c));

/** Whether a face can draw a cluster. A font may hold the composed letter or its parts: shaping joins and parts them. */
const canDraw = (face: Typeface, cluster: string): boolean =>
  allCovered(face, cluster) || (!OWN_FORM.test(cluster) && allCovered(face, cluster.normalize("NFD")));

/** A letter or a mark: what words are made of. */
const LETTER = /^[\p{L}\p{M}]/u;

interface Cluster {
  readonly text: string;
  readonly index: number;
  readonly face: Typeface | undefined;
}

/** The clusters of a text with the first font that has each; all letters of a word from one font, where one has them all. */
const clustersOf = (text: string, faces: readonly Typeface[]): Cluster[] => {
  const clusters = Array.from(graphemes.segment(text), ({ segment: cluster, index }) => ({ text: cluster, index }));
  const chosen: Cluster[] = [];
  for (let from = 0; from < clusters.length; ) {
    let to = from;
    while (to < clusters.length && LETTER.test((clusters[to] as Cluster).text)) to++;
    const word = clusters.slice(from, Math.max(to, from + 1));
    const whole = faces.find((face) => word.every((c) => canDraw(face, c.text)));
    for (const c of word) chosen.push({ ...c, face: whole ?? faces.find((face) => canDraw(face, c.text)) });
    from += word.length;
  }
  return chosen;
};

/**
 * Cuts a clean line into runs and puts them in visual order (UAX 9, rule L2). Fonts are tried in the order given, word by
 * word: a name half in one font and half in another looks like a mistake. Where no font has a whole word they are tried
 * cluster by cluster, so that a base letter and its marks always come from one font.
 *
 * @param language whose letterforms are set (BCP 47); left out, the font's usual ones
 * @param levels embedding levels of the line within its paragraph; left out, the line is a paragraph of its own
 */
export const segment = (
  text: string,
  faces: readonly Typeface[],
  levels: ArrayLike<number> = levelsOf(text),
  language?: string,
): Segmented => {
  const missing = new Set<string>();
  const fallbacks = new Map<Typeface, Set<string>>();
  const runs: { face: Typeface; start: number; end: number; level: number; script: number; language?: string }[] = [];
  const spoken = language === undefined ? {} : { language };
  for (const { text: cluster, index, face } of clustersOf(text, faces)) {
    const last = runs.at(-1);
    if (!face) {
      missing.add(cluster);
      continue;
    }
    if (face !== faces[0]) fallbacks.set(face, (fallbacks.get(face) ?? new Set()).add(cluster));
    const level = levels[index] ?? 0;
    const script = scriptOf(cluster);
    const joins =
      last &&
      last.end === index &&
      last.face === face &&
      last.level === level &&
      (script < 0 || last.script < 0 || script === last.script);
    if (joins) {
      last.end = index + cluster.length;
      if (last.script < 0) last.script = script;
    } else runs.push({ face, start: index, end: index + cluster.length, level, script, ...spoken });
  }
  return {
    runs: visualOrder(runs),
    missing: [...missing],
    fallbacks: [...fallbacks].map(([face, clusters]) => ({ face, clusters: [...clusters] })),
  };
};

/** From the highest level down to 1, turn round every stretch of runs at that level or above. */
const visualOrder = (logical: readonly Run[]): readonly Run[] => {
  const runs = [...logical];
  const highest = runs.reduce((level, run) => Math.max(level, run.level), 0);
  for (let level = highest; level > 0; level--) {
    for (let from = 0; from < runs.length; from++) {
      let to = from;
      while (to < runs.length && (runs[to] as Run).level >= level) to++;
      if (to > from + 1) runs.splice(from, to - from, ...runs.slice(from, to).reverse());
      if (to > from) from = to;
    }
  }
  return runs;
};
