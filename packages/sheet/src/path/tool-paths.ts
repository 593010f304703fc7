import type { Path } from "@kitforme/geometry";
import { area, perimeter } from "@kitforme/geometry";
import type { Cutter, Operation } from "@kitforme/kit";
import type { SheetLine, ToolPath } from "../sheet.ts";
import { alignLength } from "./align-cut.ts";
import { along } from "./along.ts";
import { dashLine } from "./dash-line.ts";
import { awayFromTabs, leaveTabs } from "./leave-tabs.ts";
import { type Heading, trailBlade } from "./trail-blade.ts";

/** Operations done with a blade that may trail; a crease is rolled or pressed. */
const BLADED: readonly Operation[] = ["perforating", "partialCutting", "cutting"];
/** Where a blade is taken to point when nothing is known of it. */
const AHEAD: Heading = { x: 1, y: 0 };

/**
 * What the machine is to do for the lines of a sheet, in their order: tabs left in outlines, operations without a tool made
 * as interrupted cuts, closed cuts run on past their beginning, and a trailing blade's axis led so that its tip follows the
 * line. A cutter that asks for none of this gets the lines as they are.
 *
 * @param align a straight cut in the waste that brings a trailing blade of unknown heading into line, when there is room
 */
export const toolPaths = (
  lines: readonly SheetLine[],
  { path, tools }: Pick<Cutter, "path" | "tools">,
  align: Path<"sheet"> | null = null,
): ToolPath[] => {
  const headings = new Map<Operation, Heading>();
  const ofPiece = new Map<number, SheetLine[]>();
  for (const line of lines) ofPiece.set(line.placed, [...(ofPiece.get(line.placed) ?? []), line]);
  const away = (placed: number): Path<"sheet">[] => awayFromTabs(ofPiece.get(placed) ?? []);

  const trailed = (tip: ToolPath): ToolPath[] => {
    if (path.bladeOffset === 0 || !BLADED.includes(tip.tool)) return [tip];
    const known = headings.get(tip.tool);
    const first = known || !align ? [] : [{ ...tip, closed: false, points: align, placed: 0 }];
    return [...first, tip].map((line) => {
      const points = line.closed ? along(line.points, true).stretch(0, perimeter(line.points)) : line.points;
      const led = trailBlade(points, path.bladeOffset, headings.get(tip.tool) ?? AHEAD);
      headings.set(tip.tool, led.heading);
      return { ...line, closed: false, points: led.path };
    });
  };

  return lines.flatMap((line) => {
    const dash = tools[line.operation] ? undefined : path.dash[line.operation];
    if (dash)
      return dashLine(line.points, line.closed, dash).flatMap((points) =>
        trailed({ ...line, closed: false, points, tool: "cutting" }),
      );
    const whole: ToolPath = { ...line, tool: line.operation };
    if (!line.closed) return trailed(whole);
    if (path.tabs && line.operation === "cutting" && area(line.points) > 0) {
      const { cuts, tabs } = leaveTabs(line.points, away(line.placed), path.tabs);
      if (tabs > 0) return cuts.flatMap((points) => trailed({ ...whole, closed: false, points }));
    }
    if (!BLADED.includes(line.operation)) return [whole];
    // Set down pointing anywhere, the blade goes over its beginning again once it has come into line.
    const astray = path.bladeOffset > 0 && !align && !headings.has(whole.tool);
    return trailed(runOn(whole, Math.max(overcutOf(path), astray ? alignLength(path.bladeOffset) : 0)));
  });
};

/** A trailing blade needs its own offset's length to come into line after it was set down: the cut closes only beyond that. */
const overcutOf = ({ overcut, bladeOffset }: Cutter["path"]): number => Math.max(overcut, bladeOffset);

/** A closed cut that goes on past its beginning, never more than once round. */
const runOn = (line: ToolPath, overcut: number): ToolPath => {
  if (overcut === 0) return line;
  const ring = along(line.points, true);
  return { ...line, closed: false, points: ring.stretch(0, ring.length + Math.min(overcut, ring.length)) };
};
