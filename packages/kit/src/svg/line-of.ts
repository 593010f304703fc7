// Path data to the points a knife follows.
import {
  apply,
  flattenArc,
  flattenCubic,
  flattenQuadratic,
  type Matrix,
  type Path,
  type Point,
} from "@kitforme/geometry";
import svgpath from "svgpath";
import { transformedArc } from "./transformed-arc.ts";

/** Coordinates beyond 10 m are no drawing; clipper's fast range ends at 47 m. */
const FARTHEST = 10_000_000;
/** Radii beyond 100 km are straight lines in all but name, and their arithmetic loses the micrometre. */
const LARGEST_RADIUS = 1e11;

export interface Subpath {
  readonly closed: boolean;
  /** A closed subpath does not repeat its first point. */
  readonly points: Path<"drawing">;
}

/** svgpath offers the fault of its parser, but its types do not. */
interface Parsed {
  readonly err: string;
  readonly segments: [string, ...number[]][];
}

type Place = { readonly x: number; readonly y: number };

/** Why path data cannot be read, in our words, with the character (from 0) that svgpath names. */
const whyOf = (err: string): string => err.replace(/^SvgPath: /, "").replace(/\(at pos (\d+)\)/, "at character $1");

const samePoint = (p: Place | undefined, q: Place | undefined): boolean =>
  p !== undefined && q !== undefined && p.x === q.x && p.y === q.y;

/** The segments of path data, absolute and without shorthand, in its own user units; or why it cannot be read. */
const segmentsOf = (data: string): Parsed["segments"] | string => {
  const path = svgpath(data);
  const parsed = path as unknown as Parsed;
  if (parsed.err) return whyOf(parsed.err);
  // svgpath lets a Catmull-Rom command R pass, and a lone point as a number becomes NaN.
  for (const [command, ...values] of parsed.segments) {
    if (/r/i.test(command)) return `${command} is no command`;
    if (!values.every(Number.isFinite)) return "a number is too large or none";
  }
  path.abs().unshort();
  return parsed.segments;
};

/** Why path data cannot be read to its end; undefined when it can. */
export const pathFault = (data: string): string | undefined => {
  const segments = segmentsOf(data);
  return typeof segments === "string" ? segments : undefined;
};

/**
 * The lines of path data under a matrix that takes its user units to micrometres, flattened after the matrix so that the
 * tolerance holds on the paper; arcs stay arcs until then. The grammar is SVG 1.1, 8.3; unlike a browser, nothing is drawn up
 * to a fault: half a cut is worse than none.
 */
export const linesOf = (
  data: string,
  matrix: Matrix,
): { readonly lines: readonly Subpath[] } | { readonly why: string } => {
  const segments = segmentsOf(data);
  if (typeof segments === "string") return { why: segments };
  const lines: Subpath[] = [];
  let points: Point<"drawing">[] = [];
  /** The current point and the subpath's start, in user units: H and V keep one of its coordinates there. */
  let user: readonly [number, number] = [0, 0];
  let start = user;
  let beyond = false;
  const there = (x: number, y: number): Place => {
    const [u, v] = apply(matrix, x, y);
    if (!(Math.abs(u) <= FARTHEST && Math.abs(v) <= FARTHEST)) beyond = true;
    return { x: u, y: v };
  };
  const whole = ({ x, y }: Place): Point<"drawing"> => ({ x: Math.round(x) + 0, y: Math.round(y) + 0 });
  const add = (more: readonly Point<"drawing">[]): void => {
    for (const p of more) if (!samePoint(p, points.at(-1))) points.push(p);
  };
  const end = (closed: boolean): void => {
    const ring = closed && points.length > 1 && samePoint(points[0], points.at(-1)) ? points.slice(0, -1) : points;
    if (ring.length > 1) lines.push({ closed, points: ring });
    points = [];
  };
  for (const [command, ...v] of segments) {
    const n = (i: number): number => v[i] ?? 0;
    if (command === "M") {
      end(false);
      start = user = [n(0), n(1)];
      there(...user);
      continue;
    }
    const from = there(...user);
    add([whole(from)]);
    if (command === "Z" || command === "z") {
      end(true);
      // The current point becomes the subpath's start, and a drawing command may follow without M.
      user = start;
      continue;
    }
    user = command === "H" ? [n(0), user[1]] : command === "V" ? [user[0], n(0)] : [v.at(-2) ?? 0, v.at(-1) ?? 0];
    const to = there(...user);
    const control = command === "C" || command === "Q" ? there(n(0), n(1)) : from;
    const second = command === "C" ? there(n(2), n(3)) : control;
    const arc =
      command === "A"
        ? transformedArc({ rx: n(0), ry: n(1), rotation: n(2), large: n(3) !== 0, sweep: n(4) !== 0 }, matrix)
        : undefined;
    if (arc && !(arc.rx <= LARGEST_RADIUS)) return { why: "a radius is too large" };
    // Before anything is flattened: the number of chords grows with the numbers.
    if (beyond) return { why: "a coordinate lies beyond 10 m" };
    if (command === "C") add(flattenCubic<"drawing">(from, control, second, to));
    else if (command === "Q") add(flattenQuadratic<"drawing">(from, control, to));
    else if (arc) add(flattenArc<"drawing">(from, arc, to));
    else add([whole(to)]);
  }
  end(false);
  return beyond ? { why: "a coordinate lies beyond 10 m" } : { lines };
};
