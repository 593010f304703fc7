import { toPlotterUnits } from "@kitforme/geometry";
import type { Operation } from "@kitforme/kit";
import type { Sheet, SheetLine } from "@kitforme/sheet";

/** Points of one PD command: small machines hold about as many (common practice, no source). */
const POINTS_PER_COMMAND = 40;

/**
 * The cut file as HP-GL: units of 0.025 mm, upper case, commas only, `;` after every command, one IN, pens from the cutter's
 * tools, no speed or force (their units differ by machine). Operations only: marks are found by the machine, not cut.
 */
export const writeHpgl = (sheet: Sheet): Uint8Array => {
  const commands = ["IN"];
  let pen: number | undefined;
  for (const line of sheet.lines) {
    const wanted = penOf(sheet, line.operation);
    if (wanted !== pen) {
      if (pen !== undefined) commands.push("PU");
      commands.push(`SP${wanted}`);
      pen = wanted;
    }
    commands.push(...draw(line));
  }
  if (pen !== undefined) commands.push("PU");
  commands.push("SP0");
  return new TextEncoder().encode(commands.map((c) => `${c};`).join(""));
};

/** The shop's file has been checked against every operation of its kits before anything is laid out. */
const penOf = (sheet: Sheet, operation: Operation): number => {
  const tool = sheet.stock.cutter.tools[operation];
  if (!tool) throw new Error(`cutter ${sheet.stock.cutter.name} has no pen for ${operation}`);
  return tool.pen;
};

const draw = ({ points, closed }: SheetLine): string[] => {
  const steps = points.map((p) => [toPlotterUnits(p.x), toPlotterUnits(p.y)] as const);
  const [first] = steps;
  if (!first) throw new Error("a line for the cutter has no points");
  // A contour ends on the very integers it began with, or the machine leaves a hair uncut.
  const way = closed ? [...steps.slice(1), first] : steps.slice(1);
  // Neighbours that round to one unit would make the tool dwell.
  const moves = way.filter(([x, y], i) => {
    const [lastX, lastY] = way[i - 1] ?? first;
    return x !== lastX || y !== lastY;
  });
  const commands = [`PU${first[0]},${first[1]}`];
  for (let i = 0; i < moves.length; i += POINTS_PER_COMMAND)
    commands.push(
      `PD${moves
        .slice(i, i + POINTS_PER_COMMAND)
        .flat()
        .join(",")}`,
    );
  return commands;
};
