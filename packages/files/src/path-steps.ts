/** One step of path data: the first point of a subpath, a line, a curve, or the way back to the first point. */
export interface PathStep {
  readonly command: "M" | "L" | "C" | "Q" | "Z";
  /** Two numbers a point, the last being where it ends; none for Z. */
  readonly values: readonly number[];
}

/** Numbers that a command of our path data takes at a time. */
const TAKES: Readonly<Record<PathStep["command"], number>> = { M: 2, L: 2, C: 6, Q: 4, Z: 0 };
const isCommand = (letter: string): letter is PathStep["command"] => Object.hasOwn(TAKES, letter);
const isLetter = (code: number): boolean => (code >= 65 && code <= 90) || (code >= 97 && code <= 122);
const isNumeric = (code: number): boolean => (code >= 48 && code <= 57) || code === 46;

/**
 * The steps of path data as kitforme writes it, one by one: SVG path data, absolute M L C Q Z only, without exponents. Every letter of
 * every sheet goes through here, so it is one walk over the characters.
 *
 * @throws on any other
 */
export const pathSteps = (outlines: string): PathStep[] => {
  const steps: PathStep[] = [];
  const end = outlines.length;
  let at = 0;
  while (at < end) {
    if (!isLetter(outlines.charCodeAt(at))) {
      at++;
      continue;
    }
    const start = at;
    const command = outlines[at++] as string;
    const takes = isCommand(command) ? TAKES[command] : Number.NaN;
    let values: number[] = [];
    let count = 0;
    while (at < end && !isLetter(outlines.charCodeAt(at))) {
      const from = at;
      if (outlines.charCodeAt(at) === 45) at++;
      const digits = at;
      while (at < end && isNumeric(outlines.charCodeAt(at))) at++;
      if (at === digits) {
        at = from + 1;
        continue;
      }
      if (count > 0 && count % takes === 0) {
        // Further pairs after an M are lines, as in SVG.
        steps.push({ command: steppedOf(command, count > takes), values });
        values = [];
      }
      values.push(Number(outlines.slice(from, at)));
      count++;
    }
    const fits = takes === 0 ? count === 0 : count > 0 && count % takes === 0;
    if (!isCommand(command) || !fits || values.some(Number.isNaN))
      throw new Error(`path data here is absolute M L C Q Z only, not "${outlines.slice(start, at)}"`);
    steps.push({ command: steppedOf(command, count > takes), values });
  }
  return steps;
};

const steppedOf = (command: string, further: boolean): PathStep["command"] =>
  (command === "M" && further ? "L" : command) as PathStep["command"];
