// Path data to the points a knife follows.
import { flattenArc, flattenCubic, flattenQuadratic, type Matrix, type Path, type Point } from "@kitforme/geometry";
import svgpath from "svgpath";

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

/**
 * The lines of path data under a matrix that takes its user units to micrometres, flattened after the matrix so that the
 * tolerance holds on the paper. Arcs stay arcs until then: svgpath turns them exactly, even when skewed.
 * The grammar is SVG 1.1, 8.3; unlike a browser, nothing is drawn up to a fault: half a cut is worse than none.
 */
export const linesOf = (
  data: string,
  matrix: Matrix,
): { readonly lines: readonly Subpath[] } | { readonly why: string } => {
  const path = svgpath(data);
  const parsed = path as unknown as Parsed;
  if (parsed.err) return { why: whyOf(parsed.err) };
  // svgpath lets a Catmull-Rom command R pass, and a lone point as a number becomes NaN.
  for (const segment of parsed.segments) {
    const [command, ...values] = segment;
    if (/r/i.test(command)) return { why: `${command} is no command` };
    if (!values.every(Number.isFinite)) return { why: "a number is too large or none" };
    // SVG 1.1, F.6.2: without a radius an arc is a straight line. svgpath's ellipse would divide by it.
    if (/a/i.test(command) && (values[0] === 0 || values[1] === 0)) segment.splice(0, 6, command === "a" ? "l" : "L");
  }
  path
    .matrix([...matrix])
    .abs()
    .unshort();
  // A mirroring matrix leaves the sweep flag as the text "0", which is true: back to numbers before anybody asks.
  const segments = parsed.segments.map(([command, ...v]) => ({ command, v: v.map(Number) }));
  const lines: Subpath[] = [];
  let points: Point<"drawing">[] = [];
  let at: Place = { x: 0, y: 0 };
  let start: Place = at;
  const begin = (): void => {
    if (points.length === 0) points.push({ x: Math.round(at.x) + 0, y: Math.round(at.y) + 0 });
  };
  const add = (more: readonly Point<"drawing">[]): void => {
    begin();
    for (const p of more) if (!samePoint(p, points.at(-1))) points.push(p);
  };
  const end = (closed: boolean): void => {
    const ring = closed && points.length > 1 && samePoint(points[0], points.at(-1)) ? points.slice(0, -1) : points;
    if (ring.length > 1) lines.push({ closed, points: ring });
    points = [];
  };
  for (const { command, v } of segments) {
    if (!v.every((n, i) => Number.isFinite(n) && Math.abs(n) <= (command === "A" && i < 2 ? LARGEST_RADIUS : FARTHEST)))
      return { why: "a coordinate lies beyond 10 m" };
    const n = (i: number): number => v[i] as number;
    const to: Place = { x: v.at(-2) ?? start.x, y: v.at(-1) ?? start.y };
    switch (command) {
      case "M":
        end(false);
        start = at = to;
        continue;
      case "L":
        add([{ x: Math.round(to.x) + 0, y: Math.round(to.y) + 0 }]);
        break;
      case "H":
        add([{ x: Math.round(n(0)) + 0, y: Math.round(at.y) + 0 }]);
        at = { x: n(0), y: at.y };
        continue;
      case "V":
        add([{ x: Math.round(at.x) + 0, y: Math.round(n(0)) + 0 }]);
        at = { x: at.x, y: n(0) };
        continue;
      case "C":
        add(flattenCubic<"drawing">(at, { x: n(0), y: n(1) }, { x: n(2), y: n(3) }, to));
        break;
      case "Q":
        add(flattenQuadratic<"drawing">(at, { x: n(0), y: n(1) }, to));
        break;
      case "A":
        add(
          flattenArc<"drawing">(at, { rx: n(0), ry: n(1), rotation: n(2), large: n(3) !== 0, sweep: n(4) !== 0 }, to),
        );
        break;
      default:
        // Z: the current point becomes the subpath's start, and a drawing command may follow without M.
        begin();
        end(true);
        at = start;
        continue;
    }
    at = to;
  }
  end(false);
  return { lines };
};
