/** One step of path data: the first point of a subpath, a line, a curve, or the way back to the first point. */
export interface PathStep {
  readonly command: "M" | "L" | "C" | "Q" | "Z";
  /** Two numbers a point, the last being where it ends; none for Z. */
  readonly values: readonly number[];
}

/** Numbers that a command of our path data takes at a time. */
const TAKES: Readonly<Record<PathStep["command"], number>> = { M: 2, L: 2, C: 6, Q: 4, Z: 0 };
const isCommand = (letter: string): letter is PathStep["command"] => Object.hasOwn(TAKES, letter);

/**
 * The steps of path data of this house, one by one: SVG path data, absolute M L C Q Z only, without exponents.
 *
 * @throws on any other
 */
export const pathSteps = (outlines: string): PathStep[] => {
  const steps: PathStep[] = [];
  for (const [text, command = "", operandText = ""] of outlines.matchAll(/([A-Za-z])([^A-Za-z]*)/g)) {
    const n = (operandText.match(/-?(?:\d+\.?\d*|\.\d+)/g) ?? []).map(Number);
    const takes = isCommand(command) ? TAKES[command] : Number.NaN;
    const fits = takes === 0 ? n.length === 0 : n.length > 0 && n.length % takes === 0;
    if (!isCommand(command) || !fits)
      throw new Error(`path data of this house is absolute M L C Q Z only, not "${text}"`);
    if (takes === 0) steps.push({ command, values: [] });
    // Further pairs after an M are lines, as in SVG.
    for (let i = 0; i < n.length; i += takes)
      steps.push({ command: command === "M" && i > 0 ? "L" : command, values: n.slice(i, i + takes) });
  }
  return steps;
};
