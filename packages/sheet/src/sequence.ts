import type { Contour, Path, Point, Rect } from "@kitforme/geometry";
import { area, bounds, containsPoint, containsRect, placeAll, placeOutlines } from "@kitforme/geometry";
import type { Line, Operation } from "@kitforme/kit";
import { OPERATIONS } from "@kitforme/kit";
import { startAtRest } from "./start.ts";
import type { Placed, SheetLine } from "./sheet.ts";

/** Only what parts paper from paper can set something loose. */
const PARTING: readonly Operation[] = ["cutting", "partialCutting"];

/**
 * All lines of the placed pieces in working order. Creases come first, while the sheet lies whole, then perforations, partial
 * cuts and cuts (common practice; the contract). Within an operation the tool goes from piece to nearest piece, from the
 * sheet's corner on; a piece lying in another's opening, and openings and slits, are cut before the contour around them, or
 * they would move with the part already loose. Every point is the drawing's, placed once.
 */
export const sequence = (pieces: readonly Placed[]): SheetLine[] => {
  const holds = nesting(pieces);
  return OPERATIONS.flatMap((operation) => pass(operation, pieces, holds));
};

interface Task {
  readonly piece: Placed;
  /** Lines by how many contours of the piece are around them, most first. */
  readonly levels: readonly (readonly Line[])[];
  readonly entries: readonly Point<"sheet">[];
}

/** By number of a piece, the numbers of those that lie in its openings. */
type Nesting = ReadonlyMap<number, readonly number[]>;

/** One tool's way over the sheet. */
const pass = (operation: Operation, pieces: readonly Placed[], holds: Nesting): SheetLine[] => {
  const known = new Map<readonly Line[], Task["levels"]>();
  const waiting = pieces.map((piece): Task => {
    const { lines } = piece.prepared.piece;
    const levels = known.get(lines) ?? byDepth(lines.filter((line) => line.operation === operation));
    known.set(lines, levels);
    const first = (levels[0] ?? []).flatMap((line) => waysOf(line, piece));
    return { piece, levels, entries: first.map((way) => way[0] as Point<"sheet">) };
  });
  const worked = new Set<number>();
  const lines: SheetLine[] = [];
  let pen: Point<"sheet"> = { x: 0, y: 0 };
  while (waiting.length > 0) {
    let next: Task | undefined;
    let least = Number.POSITIVE_INFINITY;
    for (const task of waiting) {
      if (!(holds.get(task.piece.number) ?? []).every((inner) => worked.has(inner))) continue;
      // A piece without lines of this operation costs no way: at once, so that it keeps nobody waiting.
      const distance = Math.min(...(task.entries.length > 0 ? task.entries.map((p) => apart2(pen, p)) : [-1]));
      if (distance < least) [next, least] = [task, distance];
    }
    if (!next) throw new Error("pieces that lie in each other's openings");
    waiting.splice(waiting.indexOf(next), 1);
    worked.add(next.piece.number);
    const work = workPiece(next, operation, pen);
    lines.push(...work.lines);
    pen = work.pen;
  }
  return lines;
};

const apart2 = (a: Point, b: Point): number => (a.x - b.x) ** 2 + (a.y - b.y) ** 2;

/** Where a line may be begun, each with its points in that order. */
const waysOf = (line: Line, piece: Placed): readonly Path<"sheet">[] => {
  const points = placeAll(piece.matrix, line.points);
  return line.closed ? [startAtRest(points)] : [points, points.toReversed()];
};

/** The lines of one piece: the innermost level first, within a level always the nearest. */
const workPiece = ({ piece, levels }: Task, operation: Operation, from: Point<"sheet">) => {
  const lines: SheetLine[] = [];
  let pen = from;
  for (const level of levels) {
    const waiting = level.map((line) => ({ closed: line.closed, ways: waysOf(line, piece) }));
    while (waiting.length > 0) {
      let best = { at: 0, way: waiting[0]?.ways[0] as Path<"sheet"> };
      let least = Number.POSITIVE_INFINITY;
      for (const [at, { ways }] of waiting.entries())
        for (const way of ways) {
          const distance = apart2(pen, way[0] as Point<"sheet">);
          if (distance < least) [best, least] = [{ at, way }, distance];
        }
      const closed = waiting.splice(best.at, 1)[0]?.closed ?? false;
      lines.push({ operation, closed, points: best.way, placed: piece.number });
      pen = (closed ? best.way[0] : best.way.at(-1)) as Point<"sheet">;
    }
  }
  return { lines, pen };
};

/** Whether some of a line lies inside a ring: a slit that ends on a contour still belongs inside it. */
const liesIn = (line: Line, ring: Line): boolean =>
  line !== ring &&
  (!line.closed || Math.abs(area(line.points)) < Math.abs(area(ring.points))) &&
  line.points.some((p) => containsPoint(ring.points, p) > 0);

const byDepth = (lines: readonly Line[]): Task["levels"] => {
  const rings = lines.filter((line) => line.closed && PARTING.includes(line.operation));
  const levels: Line[][] = [];
  for (const line of lines) {
    const depth = rings.filter((ring) => liesIn(line, ring)).length;
    while (levels.length <= depth) levels.push([]);
    levels[depth]?.push(line);
  }
  return levels.toReversed().filter((level) => level.length > 0);
};

/** What lies within a piece's outer contours lies in its openings, as pieces do not overlap. */
const nesting = (pieces: readonly Placed[]): Nesting => {
  const rings = pieces.map(({ number, matrix, prepared }) => {
    const outers = placeOutlines(matrix, prepared.piece.parts).map(({ outer }) => ({ outer, box: bounds(outer) }));
    return { number, outers };
  });
  const within = (a: { outer: Contour; box: Rect }, b: typeof a): boolean =>
    containsRect(b.box, a.box) && containsPoint(b.outer, a.outer[0] as Point) > 0;
  return new Map(
    rings.map((big) => [
      big.number,
      rings
        .filter((small) => small !== big && small.outers.some((a) => big.outers.some((b) => within(a, b))))
        .map(({ number }) => number),
    ]),
  );
};
