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
const ON = 15;
/** Sine of the angle up to which two edges run along each other. */
const ALONG = 0.05;
const STEP = 250;
const CELL = 1000;
/** Samples over all lines; a larger drawing is sampled more coarsely. */
const MOST_SAMPLES = 400_000;
/** Shorter stretches are corners that two lines share. */
const LEAST = 500;
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

/** The middles of even stretches of an edge. */
const samples = (edge: Edge, step: number): { x: number; y: number; length: number }[] => {
  const n = Math.max(1, Math.ceil(edge.length / step));
  return Array.from({ length: n }, (_, i) => {
    const t = (i + 0.5) / n;
    return {
      x: edge.a.x + t * (edge.b.x - edge.a.x),
      y: edge.a.y + t * (edge.b.y - edge.a.y),
      length: edge.length / n,
    };
  });
};

const liesOn = (x: number, y: number, own: Edge, other: Edge): boolean => {
  const ux = (other.b.x - other.a.x) / other.length;
  const uy = (other.b.y - other.a.y) / other.length;
  const cross = ((own.b.x - own.a.x) * uy - (own.b.y - own.a.y) * ux) / own.length;
  if (Math.abs(cross) > ALONG) return false;
  const px = x - other.a.x;
  const py = y - other.a.y;
  const along = px * ux + py * uy;
  return along >= -ON && along <= other.length + ON && Math.abs(px * uy - py * ux) <= ON;
};

/** Every pair of lines that lie on each other for half a millimetre or more, in order of the second, then the first. */
export const doubledLines = (lines: readonly Line[]): Doubled[] => {
  const edges = edgesIn(lines);
  const totals = lines.map(() => 0);
  for (const edge of edges) totals[edge.line] = (totals[edge.line] ?? 0) + edge.length;
  const whole = totals.reduce((sum, n) => sum + n, 0);
  const step = Math.max(STEP, whole / MOST_SAMPLES);
  const cell = Math.max(CELL, step);
  const key = (x: number, y: number): number => Math.floor(x / cell) * 67_108_864 + Math.floor(y / cell);
  const grid = new Map<number, Edge[]>();
  for (const edge of edges) {
    let last = Number.NaN;
    for (const { x, y } of samples(edge, cell / 2)) {
      const k = key(x, y);
      if (k === last) continue;
      last = k;
      const there = grid.get(k);
      if (there) there.push(edge);
      else grid.set(k, [edge]);
    }
  }
  const near = (x: number, y: number): Set<Edge> => {
    const found = new Set<Edge>();
    for (let dx = -1; dx <= 1; dx++)
      for (let dy = -1; dy <= 1; dy++)
        for (const edge of grid.get(key(x + dx * cell, y + dy * cell)) ?? []) found.add(edge);
    return found;
  };
  const met = new Map<string, { length: number; at: Point<"drawing"> }>();
  for (const edge of edges)
    for (const { x, y, length } of samples(edge, step)) {
      const others = new Set<number>();
      for (const other of near(x, y)) if (other.line !== edge.line && liesOn(x, y, edge, other)) others.add(other.line);
      for (const other of others) {
        const k = `${other} ${edge.line}`;
        const sum = met.get(k);
        if (sum) sum.length += length;
        else met.set(k, { length, at: { x: Math.round(x), y: Math.round(y) } });
      }
    }
  const found: Doubled[] = [];
  for (const [k, { length, at }] of met) {
    const [first, second] = k.split(" ").map(Number) as [number, number];
    if (first > second || length < LEAST) continue;
    const back = met.get(`${second} ${first}`)?.length ?? 0;
    const same = length >= ALL * (totals[second] ?? 0) && back >= ALL * (totals[first] ?? 0);
    found.push({ first, second, length, at, same });
  }
  return found.sort((p, q) => p.second - q.second || p.first - q.first);
};
