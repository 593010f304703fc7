// Lines that lie on each other. Drawing programs double lines when a layer is copied, and panels drawn as rectangles side by
// side share an edge; a blade that goes twice over one place tears the card.
import type { Point } from "@kitforme/geometry";
import type { Line } from "./kit.ts";

export interface Doubled {
  /** Indices into the lines, first < second. */
  readonly first: number;
  readonly second: number;
  /** Micrometres of the second that lie on the first. */
  readonly length: number;
  /** Where it begins on the second. */
  readonly at: Point<"drawing">;
  /** The second lies on the first all along, and the first on the second. */
  readonly same: boolean;
}

/** Two flattenings of one curve stray 4 um each and round by 0.7: 15 holds them, and is far below what a blade can do. */
export const ON = 15;
/** Sine of the angle from which two edges cross rather than run along each other; chords of one curve differ by less. */
const SLANT = 0.2;
/** Cells of the grid that finds neighbours: at least so large, and so many along all lines at most. */
const CELL = 1000;
const MOST_CELLS = 40_000;
const FEW = 300;
/** Shorter stretches are corners that two lines share. */
export const LEAST = 500;
const ALL = 0.99;

interface Edge {
  readonly line: number;
  readonly a: Point<"drawing">;
  readonly b: Point<"drawing">;
  readonly length: number;
}

const edgesIn = (lines: readonly Line[]): Edge[] =>
  lines.flatMap(({ points, closed }, line) =>
    points.flatMap((a, i): Edge[] => {
      const b = points[i + 1] ?? (closed ? points[0] : undefined);
      const length = b ? Math.hypot(b.x - a.x, b.y - a.y) : 0;
      return b && length > 0 ? [{ line, a, b, length }] : [];
    }),
  );

/** The stretch of `edge` (as shares of it) that lies on `other`: beside it, and nowhere farther off than ON. */
const stretchOn = (edge: Edge, other: Edge): readonly [from: number, to: number] | undefined => {
  const ux = (other.b.x - other.a.x) / other.length;
  const uy = (other.b.y - other.a.y) / other.length;
  const slant = Math.abs((edge.b.x - edge.a.x) * uy - (edge.b.y - edge.a.y) * ux) / edge.length;
  if (slant > SLANT) return undefined;
  const along = (p: Point): number => (p.x - other.a.x) * ux + (p.y - other.a.y) * uy;
  const aside = (p: Point): number => (p.x - other.a.x) * uy - (p.y - other.a.y) * ux;
  let [from, to] = [0, 1];
  // Both measures run evenly along the edge; each must stay between its bounds.
  for (const [start, end, least, most] of [
    [along(edge.a), along(edge.b), 0, other.length],
    [aside(edge.a), aside(edge.b), -ON, ON],
  ] as const) {
    const change = end - start;
    if (change === 0) {
      if (start < least || start > most) return undefined;
      continue;
    }
    const [one, two] = [(least - start) / change, (most - start) / change];
    from = Math.max(from, Math.min(one, two));
    to = Math.min(to, Math.max(one, two));
    if (from >= to) return undefined;
  }
  return [from, to];
};

/** Edges by the cells they pass; asked for an edge, it shows all that pass within a cell of it. */
const neighbours = (edges: readonly Edge[], whole: number): ((edge: Edge) => Iterable<Edge>) => {
  // A few long edges pass more cells than there are pairs.
  if (edges.length < FEW) return () => edges;
  const cell = Math.max(CELL, whole / MOST_CELLS);
  const grid = new Map<number, Edge[]>();
  const key = (column: number, row: number): number => column * 67_108_864 + row;
  const cellsOf = (edge: Edge): [number, number][] => {
    const n = Math.max(1, Math.ceil(edge.length / (cell / 2)));
    return Array.from({ length: n }, (_, i) => {
      const t = (i + 0.5) / n;
      const x = edge.a.x + t * (edge.b.x - edge.a.x);
      const y = edge.a.y + t * (edge.b.y - edge.a.y);
      return [Math.floor(x / cell), Math.floor(y / cell)];
    });
  };
  for (const edge of edges)
    for (const [column, row] of cellsOf(edge)) {
      const there = grid.get(key(column, row));
      if (!there) grid.set(key(column, row), [edge]);
      else if (there.at(-1) !== edge) there.push(edge);
    }
  return (edge) => {
    const found = new Set<Edge>();
    for (const [column, row] of cellsOf(edge))
      for (let dx = -1; dx <= 1; dx++)
        for (let dy = -1; dy <= 1; dy++) for (const near of grid.get(key(column + dx, row + dy)) ?? []) found.add(near);
    return found;
  };
};

/** Every pair of lines that lie on each other for half a millimetre or more, in order of the second, then the first. */
export const doubledLines = (lines: readonly Line[]): Doubled[] => {
  if (lines.length < 2) return [];
  const edges = edgesIn(lines);
  const totals = lines.map(() => 0);
  for (const edge of edges) totals[edge.line] = (totals[edge.line] ?? 0) + edge.length;
  const near = neighbours(
    edges,
    totals.reduce((sum, n) => sum + n, 0),
  );
  const met = new Map<string, { length: number; at: Point<"drawing"> }>();
  for (const edge of edges)
    for (const other of near(edge)) {
      if (other.line === edge.line) continue;
      const stretch = stretchOn(edge, other);
      if (!stretch) continue;
      const [from, to] = stretch;
      const k = `${other.line} ${edge.line}`;
      const sum = met.get(k);
      const length = (to - from) * edge.length;
      if (sum) sum.length += length;
      else {
        const x = Math.round(edge.a.x + from * (edge.b.x - edge.a.x));
        const y = Math.round(edge.a.y + from * (edge.b.y - edge.a.y));
        met.set(k, { length, at: { x, y } });
      }
    }
  const found: Doubled[] = [];
  for (const [k, { length, at }] of met) {
    const [first = 0, second = 0] = k.split(" ").map(Number);
    if (first > second || length < LEAST) continue;
    const back = met.get(`${second} ${first}`)?.length ?? 0;
    const same = length >= ALL * (totals[second] ?? 0) && back >= ALL * (totals[first] ?? 0);
    found.push({ first, second, length, at, same });
  }
  return found.sort((p, q) => p.second - q.second || p.first - q.first);
};

/** Cosine from which a corner turns right back: 179.9 degrees and more. */
const BACK = -0.9999985;

/** Where an open line first runs back on itself, and for how long in all; nothing below half a millimetre. */
export const retraced = ({ points, closed }: Line): Pick<Doubled, "length" | "at"> | undefined => {
  if (closed) return undefined;
  let [length, first]: [number, Point<"drawing"> | undefined] = [0, undefined];
  for (let i = 1; i + 1 < points.length; i++) {
    const [p, q, r] = [points[i - 1], points[i], points[i + 1]] as [
      Point<"drawing">,
      Point<"drawing">,
      Point<"drawing">,
    ];
    const [one, two] = [Math.hypot(q.x - p.x, q.y - p.y), Math.hypot(r.x - q.x, r.y - q.y)];
    const cosine = ((q.x - p.x) * (r.x - q.x) + (q.y - p.y) * (r.y - q.y)) / (one * two);
    if (!(cosine <= BACK)) continue;
    length += Math.min(one, two);
    first ??= q;
  }
  return first && length >= LEAST ? { length, at: first } : undefined;
};
