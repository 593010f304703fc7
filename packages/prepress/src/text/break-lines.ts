/** The lines of each paragraph, one space wherever a line was broken. */
export type Paragraphs = readonly (readonly string[])[];

/**
 * Ways to break a text into lines, from the fewest lines to the most: at its line ends always, at spaces so that the widest
 * line is as narrow as it can be. Too few lines for its line ends: no way.
 *
 * @param widthOf width of a stretch of text without spaces, in any unit
 * @param space width of a space
 */
export const breakLines = (
  text: string,
  most: number,
  widthOf: (word: string) => number,
  space: number,
): readonly Paragraphs[] => {
  const paragraphs = text.split("\n").map((line) =>
    line
      .split(/ +/)
      .filter((word) => word !== "")
      .map((word) => ({ word, width: widthOf(word) })),
  );
  if (paragraphs.length > most) return [];
  const words = paragraphs.reduce((sum, paragraph) => sum + Math.max(1, paragraph.length), 0);
  const ways = new Map<number, Paragraphs>();
  for (let count = paragraphs.length; count <= Math.min(most, words); count++) {
    const broken = narrowest(paragraphs, count, space);
    const lines = broken.flat().length;
    if (!ways.has(lines)) ways.set(lines, broken);
  }
  return [...ways.values()];
};

type Word = { readonly word: string; readonly width: number };

/** Halvings of the widths between which the narrowest lies: to a ten-thousandth. */
const HALVINGS = 24;

const narrowest = (paragraphs: readonly (readonly Word[])[], count: number, space: number): Paragraphs => {
  const all = paragraphs.flat();
  let [tooNarrow, enough] = [
    Math.max(0, ...all.map(({ width }) => width)) * (1 - 1e-9),
    all.reduce((sum, { width }) => sum + width + space, 0),
  ];
  let best = filled(paragraphs, enough, space);
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (tooNarrow + enough) / 2;
    const lines = filled(paragraphs, middle, space);
    if (lines.flat().length <= count) [enough, best] = [middle, lines];
    else tooNarrow = middle;
  }
  return best;
};

/** Lines filled one after another up to a width; a word wider than that has a line of its own. */
const filled = (paragraphs: readonly (readonly Word[])[], most: number, space: number): Paragraphs =>
  paragraphs.map((words) => {
    const lines: string[][] = [[]];
    let width = 0;
    for (const { word, width: own } of words) {
      const line = lines.at(-1) as string[];
      if (line.length > 0 && width + space + own > most) {
        lines.push([word]);
        width = own;
      } else {
        width += (line.length > 0 ? space : 0) + own;
        line.push(word);
      }
    }
    return lines.map((line) => line.join(" "));
  });
