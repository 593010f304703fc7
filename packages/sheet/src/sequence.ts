import type { Contour, Path, Point, Rect } from "@kitforme/geometry";
import {
  area,
  bounds,
  containsPoint,
  containsRect,
  placeAll,
  placeOutlines,
  reversed,
  touches,
} from "@kitforme/geometry";
import type { Line, Operation } from "@kitforme/kit";
import { OPERATIONS } from "@kitforme/kit";
import { shortenTravel } from "./path/shorten-travel.ts";
import { startsOf } from "./path/starts-of.ts";
import type { Placed, SheetLine } from "./sheet.ts";

/** Only what parts paper from paper can set something loose. */
const PARTING: readonly Operation[] = ["cutting", "partialCutting"];

/**
 * All lines of the placed pieces in working order. Creases come first, while the sheet lies whole, then perforations, partial
 * cuts and cuts (common practice; the contract). Within an operation the way with the tool raised is short, from where the
 * operation before left the tool; a piece lying in another's opening, and openings and slits, are cut before the contour
 * around them, or they would move with the part already loose. Outlines run counter-clockwise and openings clockwise, so that
 * the piece always lies on the same side of the knife. Every point is the drawing's, placed once.
 */
export const sequence = (pieces: readonly Placed[]): SheetLine[] => {
  const holds = nesting(pieces);
  let pen: Point<"sheet"> = { x: 0, y: 0 };
  return OPERATIONS.flatMap((operation) => {
    const lines = pass(operation, pieces, holds, pen);
    const last = lines.at(-1);
    if (last) pen = (last.closed ? last.points[0] : last.points.at(-1)) as Point<"sheet">;
    return lines;
  });
};

/** Lines of a piece that one tool works, with what lies around each. The same for every copy of the piece. */
interface Work {
  readonly line: Line;
  /** Indices of the lines of this work that lie inside this one. */
  readonly inside: readonly number[];
  /** Winding that the line gets on the sheet; open lines and creases have none. */
  readonly winding: 1 | -1 | 0;
  /** Where the line may be begun; for a closed one, indices of its points. */
  readonly starts: readonly number[];
}

/** By number of a piece, the numbers of those that lie in its openings. */
type Nesting = ReadonlyMap<number, readonly number[]>;

/** One tool's way over the sheet. */
const pass = (operation: Operation, pieces: readonly Placed[], holds: Nesting, pen: Point<"sheet">): SheetLine[] => {
  const known = new Map<readonly Line[], readonly Work[]>();
  const firsts = new Map<number, number>();
  const stops: {
    placed: number;
    points: Path<"sheet">;
    closed: boolean;
    starts: readonly number[];
    after: number[];
  }[] = [];
  for (const { number, matrix, prepared } of pieces) {
    const { lines } = prepared.piece;
    const work = known.get(lines) ?? workOf(lines.filter((line) => line.operation === operation));
    known.set(lines, work);
    const first = stops.length;
    firsts.set(number, first);
    for (const { line, inside, winding, starts } of work) {
      const placed = placeAll(matrix, line.points);
      const turn = line.closed && winding !== 0 && Math.sign(area(placed)) !== winding;
      stops.push({
        placed: number,
        points: turn ? reversed(placed) : placed,
        closed: line.closed,
        // Turned round, the first point stays the first and the others count from the end.
        starts: turn ? starts.map((i) => (placed.length - i) % placed.length).sort((a, b) => a - b) : starts,
        after: inside.map((i) => first + i),
      });
    }
  }
  for (const [outer, inner] of holds) afterAll(stops, firsts, outer, inner);
  const tour = shortenTravel(
    stops.map(({ points, closed, starts, after }) => ({
      entries: closed
        ? starts.map((i) => points[i] as Point<"sheet">)
        : [points[0], points.at(-1)].map((p) => p as Point<"sheet">),
      closed,
      after,
    })),
    pen,
  );
  return tour.map(({ stop, entry }): SheetLine => {
    const { placed, points, closed, starts } = stops[stop] as (typeof stops)[number];
    if (!closed) return { operation, closed, points: entry === 0 ? points : points.toReversed(), placed };
    const start = starts[entry] as number;
    return { operation, closed, points: [...points.slice(start), ...points.slice(0, start)], placed };
  });
};

/**
 * The closed lines of piece `outer` wait for the lines of other pieces that lie in them. Line by line: of two pieces in several parts
 * each may have one in an opening of the other.
 */
const afterAll = (
  stops: readonly {
    readonly placed: number;
    readonly points: Path<"sheet">;
    readonly closed: boolean;
    readonly after: number[];
  }[],
  firsts: ReadonlyMap<number, number>,
  outer: number,
  inner: readonly number[],
): void => {
  if (inner.length === 0) return;
  const linesOf = (number: number): number[] => {
    const found: number[] = [];
    for (let i = firsts.get(number) ?? stops.length; stops[i]?.placed === number; i++) found.push(i);
    return found;
  };
  const others = inner.flatMap(linesOf);
  for (const i of linesOf(outer)) {
    const ring = stops[i] as (typeof stops)[number];
    // Pieces do not cross, so one point of a line tells.
    const holds = (j: number): boolean => containsPoint(ring.points, stops[j]?.points[0] as Point<"sheet">) > 0;
    if (ring.closed) ring.after.push(...others.filter(holds));
  }
};

/**
 * Whether some of a line lies inside a ring: a slit that ends on a contour still belongs inside it. Where none of its corners does,
 * places on its edges are asked: a cut from edge to edge has both its ends on the contour, an opening may have all its corners there.
 */
const liesIn = (line: Line, ring: Line): boolean => {
  if (line === ring || !touches(bounds(line.points), bounds(ring.points))) return false;
  if (line.closed && Math.abs(area(line.points)) >= Math.abs(area(ring.points))) return false;
  return [line.points, between(line)].some((places) => places.some((p) => containsPoint(ring.points, p) > 0));
};

/** Places between the corners of a line, three an edge: one may lie on a contour that the line touches on its way. */
const between = ({ points, closed }: Line): Path<"drawing"> =>
  points.flatMap((p, i) => {
    const q = points[i + 1] ?? (closed ? points[0] : undefined);
    return q
      ? [0.3, 0.5, 0.7].map((t) => ({ x: Math.round(p.x + t * (q.x - p.x)), y: Math.round(p.y + t * (q.y - p.y)) }))
      : [];
  });

/** One operation's lines of a piece. Rings that part paper wait for what lies inside them, and have a winding by their depth. */
const workOf = (lines: readonly Line[]): readonly Work[] => {
  const parting = (line: Line): boolean => line.closed && PARTING.includes(line.operation);
  const inside = lines.map((ring) =>
    parting(ring) ? lines.flatMap((line, i) => (liesIn(line, ring) ? [i] : [])) : [],
  );
  return lines.map((line, i): Work => {
    const depth = inside.filter((inner) => inner.includes(i)).length;
    return {
      line,
      inside: inside[i] as number[],
      winding: parting(line) ? (depth % 2 === 0 ? 1 : -1) : 0,
      starts: line.closed ? startsOf(line.points) : [],
    };
  });
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
