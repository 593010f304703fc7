import { lengthOf, perimeter, type Point, toMm } from "@kitforme/geometry";
import { type Cutter, OPERATIONS, type Operation } from "@kitforme/kit";
import type { CuttingWork, ToolPath } from "../sheet.ts";

/** Lengths, lifts and time of a sheet's tool paths in their order. */
export const workOf = (paths: readonly ToolPath[], { speed }: Pick<Cutter, "speed">): CuttingWork => {
  const length: Partial<Record<Operation, number>> = {};
  let [travel, lifts, seconds] = [0, 0, 0];
  let pen: Point<"sheet"> = { x: 0, y: 0 };
  let tool: Operation | undefined;
  for (const path of paths) {
    const [first, last] = [
      path.points[0] as Point<"sheet">,
      (path.closed ? path.points[0] : path.points.at(-1)) as Point<"sheet">,
    ];
    const way = toMm(path.closed ? perimeter(path.points) : lengthOf(path.points));
    length[path.operation] = (length[path.operation] ?? 0) + way;
    const move = toMm(Math.hypot(first.x - pen.x, first.y - pen.y));
    travel += move;
    if (move > 0 || tool !== path.tool) lifts++;
    if (speed) seconds += way / (speed.operations[path.operation] ?? speed.travel) + move / speed.travel;
    [pen, tool] = [last, path.tool];
  }
  const sorted = Object.fromEntries(OPERATIONS.flatMap((o) => (length[o] === undefined ? [] : [[o, length[o]]])));
  return { length: sorted, travel, lifts, ...(speed ? { seconds: seconds + lifts * speed.lift } : {}) };
};
