import {
  type Contour,
  distanceToContour,
  lengthOf,
  mm,
  type Outline,
  type Path,
  type Point,
  ringsOf,
} from "@kitforme/geometry";
import type { Line, Piece } from "../kit.ts";
import type { Ledger } from "../ledger.ts";

/** A piece as far as its checks need it. */
export type Judged = Pick<Piece, "parts" | "lines" | "slots" | "drawnAs">;

/** One rule (or a rule with its sister) asked of one piece. */
export type Check = (piece: Judged, report: Ledger) => void;

export const ringsFor = (piece: Judged): Contour<"drawing">[] =>
  piece.lines.flatMap((l) => (l.closed && l.operation === "cutting" ? [l.points] : []));

/** A line as an open path: a ring goes back to its first point. */
export const pathOf = ({ points, closed }: Line): Path<"drawing"> => {
  const first = points[0];
  return closed && first ? [...points, first] : points;
};

/** Steps in which a line is followed to find where it is farthest out: at least this, and at most so many. */
const STEP = mm(0.25);
const MOST_STEPS = 400;

/** The points of a line with others between them: a crease over an opening is farthest out between its ends. */
const followed = (path: Path<"drawing">): Point<"drawing">[] => {
  const step = Math.max(STEP, lengthOf(path) / MOST_STEPS);
  return path.flatMap((p, i) => {
    const q = path[i + 1];
    if (!q) return [p];
    const n = Math.ceil(Math.hypot(q.x - p.x, q.y - p.y) / step);
    return Array.from({ length: Math.max(1, n) }, (_, k) => ({
      x: Math.round(p.x + ((q.x - p.x) * k) / n) + 0,
      y: Math.round(p.y + ((q.y - p.y) * k) / n) + 0,
    }));
  });
};

/** The place on the paths that lies farthest from every line of the outlines, and how far; -1 and no place without paths. */
export const farthest = (
  paths: readonly Path<"drawing">[],
  parts: readonly Outline<"drawing">[],
): { readonly by: number; readonly at: Point<"drawing"> | undefined } => {
  const rings = ringsOf(parts);
  let by = -1;
  let at: Point<"drawing"> | undefined;
  for (const p of paths.flatMap(followed)) {
    const distance = Math.min(...rings.map((ring) => distanceToContour(p, ring)));
    if (distance > by) [by, at] = [distance, p];
  }
  return { by, at };
};
