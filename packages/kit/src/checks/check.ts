import { type Contour, distanceToContour, type Outline, type Path, type Point, ringsOf } from "@kitforme/geometry";
import type { Line, Piece } from "../kit.ts";
import type { Ledger } from "../ledger.ts";

/** A piece as far as its checks need it. */
export type Judged = Pick<Piece, "parts" | "lines" | "slots">;

/** One rule (or a rule with its sister) asked of one piece. */
export type Check = (piece: Judged, told: Ledger) => void;

export const ringsFor = (piece: Judged): Contour<"drawing">[] =>
  piece.lines.flatMap((l) => (l.closed && l.operation === "cutting" ? [l.points] : []));

/** A line as an open path: a ring goes back to its first point. */
export const pathOf = ({ points, closed }: Line): Path<"drawing"> => {
  const first = points[0];
  return closed && first ? [...points, first] : points;
};

/** The point that lies farthest from every line of the outlines, and how far. */
export const farthest = (
  points: readonly Point<"drawing">[],
  parts: readonly Outline<"drawing">[],
): { readonly by: number; readonly at: Point<"drawing"> | undefined } => {
  const rings = ringsOf(parts);
  let by = -1;
  let at: Point<"drawing"> | undefined;
  for (const p of points) {
    const distance = Math.min(...rings.map((ring) => distanceToContour(p, ring)));
    if (distance > by) [by, at] = [distance, p];
  }
  return { by, at };
};
