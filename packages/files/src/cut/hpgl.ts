import { toPlotterUnits } from "@kitforme/geometry";
import type { Operation } from "@kitforme/kit";
import type { ToolPath } from "@kitforme/sheet";
import type { CutBodies } from "./bodies.ts";
import type { CutSheet } from "./cut-sheet.ts";
import { inAxes } from "./axes.ts";

/** Points of one PD command: small machines hold about as many (common practice, no source). */
const POINTS_PER_COMMAND = 40;

type Step = readonly [x: number, y: number];

/**
 * The cut file as HP-GL in the cutter's own axes: units of 0.025 mm, upper case, commas only, `;` after every command, one IN,
 * pens from the cutter's tools, no speed or force (their units differ by machine). Operations only: marks are found by the
 * machine, not cut. The tool stays down where a path begins at the very point where the one before it ended. A comment (CO)
 * names job and sheet; machines pass over instructions that they do not know.
 */
export const writeHpgl = (sheet: CutSheet, bodies: CutBodies): Uint8Array => {
  const commands = ["IN", `CO"${sheet.job}-${sheet.sheet}-${sheet.of}"`];
  return new TextEncoder().encode(
    commands.map((c) => `${c};`).join("") + bodies.of(sheet, "hpgl", () => waysOf(sheet)),
  );
};

const waysOf = (sheet: CutSheet): string => {
  const commands: string[] = [];
  let pen: number | undefined;
  let at: Step | undefined;
  for (const path of sheet.paths) {
    const wanted = penOf(sheet, path.tool);
    if (wanted !== pen) {
      if (pen !== undefined) commands.push("PU");
      commands.push(`SP${wanted}`);
      [pen, at] = [wanted, undefined];
    }
    const steps = stepsOf(path, sheet);
    const [first] = steps as [Step];
    if (!at || at[0] !== first[0] || at[1] !== first[1]) commands.push(`PU${first[0]},${first[1]}`);
    for (let i = 1; i < steps.length; i += POINTS_PER_COMMAND)
      commands.push(
        `PD${steps
          .slice(i, i + POINTS_PER_COMMAND)
          .flat()
          .join(",")}`,
      );
    at = steps.at(-1);
  }
  if (pen !== undefined) commands.push("PU");
  commands.push("SP0");
  return commands.map((c) => `${c};`).join("");
};

/** The shop's file has been checked against every operation of its kits before anything is laid out. */
const penOf = (sheet: CutSheet, operation: Operation): number => {
  const tool = sheet.stock.cutter.tools[operation];
  if (!tool) throw new Error(`cutter ${sheet.stock.cutter.name} has no pen for ${operation}`);
  return tool.pen;
};

/** A path in plotter units. A contour ends on the very integers it began with, or the machine leaves a hair uncut. */
const stepsOf = ({ points, closed }: ToolPath, sheet: CutSheet): Step[] => {
  const all = points.map((p): Step => {
    const { x, y } = inAxes(sheet, p);
    return [toPlotterUnits(x), toPlotterUnits(y)];
  });
  const [first] = all;
  if (!first) throw new Error("a line for the cutter has no points");
  const way = closed ? [...all, first] : all;
  // Neighbours that round to one unit would make the tool dwell.
  const steps = way.filter(([x, y], i) => i === 0 || x !== way[i - 1]?.[0] || y !== way[i - 1]?.[1]);
  return steps.length > 1 ? steps : [first, first];
};
