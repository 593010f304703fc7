// The open line: its length, and how lines drawn in parts become one.
import { CLOSED_WITHIN, type Um } from "./length.ts";
import type { Contour, Path, Point, Space } from "./point.ts";

/** Length in micrometres, not rounded. */
export const lengthOf = (path: Path): number => {
  let sum = 0;
  for (let i = 1; i < path.length; i++) {
    const p = path[i - 1] as Point;
    const q = path[i] as Point;
    sum += Math.hypot(q.x - p.x, q.y - p.y);
  }
  return sum;
};

/** A gap that was bridged: where (the end of the first of the two lines) and how wide. */
export interface Bridge<S extends Space = Space> {
  readonly at: Point<S>;
  readonly gap: number;
}

/** What `joinEnds` made of loose lines. */
export interface Joined<S extends Space = Space> {
  /** Lines that still have two ends. */
  readonly paths: readonly Path<S>[];
  /** Lines that came back to their beginning; the first point is not repeated. */
  readonly rings: readonly Contour<S>[];
  /** Every gap wider than 0, widest first. */
  readonly bridges: readonly Bridge<S>[];
}

interface End {
  readonly path: number;
  readonly last: boolean;
  readonly x: number;
  readonly y: number;
}

/**
 * Open lines whose ends lie within `within` of each other, chained into longer lines and closed rings. What goes round is
 * joined before what leads nowhere, then the narrowest gaps first, each end once. A gap up to CLOSED_WITHIN becomes one point
 * (the end of the earlier line); a wider one a straight edge.
 */
export const joinEnds = <S extends Space>(paths: readonly Path<S>[], within: Um): Joined<S> => {
  const ends = paths.flatMap((path, i): End[] => {
    const first = path[0];
    const last = path.at(-1);
    return first && last && path.length > 1
      ? [
          { path: i, last: false, x: first.x, y: first.y },
          { path: i, last: true, x: last.x, y: last.y },
        ]
      : [];
  });
  const { mate, bridges } = pairUp<S>(ends, paths, within);
  const used = new Set<number>();
  const open: Path<S>[] = [];
  const rings: Contour<S>[] = [];
  const walk = (start: number): void => {
    const line: Point<S>[] = [];
    let end: number | undefined = start;
    while (end !== undefined && !used.has((ends[end] as End).path)) {
      const { path, last } = ends[end] as End;
      used.add(path);
      const points = paths[path] as Path<S>;
      append(line, last ? points.toReversed() : points);
      // Ends come in pairs 2k, 2k + 1.
      end = mate.get(end ^ 1);
    }
    if (end === undefined) open.push(line);
    else {
      const [p, q] = [line[0] as Point, line.at(-1) as Point];
      if (line.length > 1 && Math.hypot(p.x - q.x, p.y - q.y) <= CLOSED_WITHIN) line.pop();
      if (line.length > 2) rings.push(line);
      // There and back again: one straight line, to be worked once.
      else if (line.length === 2) open.push(line);
    }
  };
  // Loose ends first, so that a chain is walked from its beginning; what then remains are rings.
  ends.forEach((end, i) => {
    if (!mate.has(i) && !used.has(end.path)) walk(i);
  });
  ends.forEach((end, i) => {
    if (!used.has(end.path)) walk(i);
  });
  return { paths: open, rings, bridges };
};

const append = <S extends Space>(line: Point<S>[], points: readonly Point<S>[]): void => {
  const last = line.at(-1);
  const first = points[0];
  const one = last && first && Math.hypot(last.x - first.x, last.y - first.y) <= CLOSED_WITHIN;
  for (let i = one ? 1 : 0; i < points.length; i++) line.push(points[i] as Point<S>);
};

/**
 * Paths that lead nowhere: an end of theirs meets no other, or only such paths. What is left goes round, and is joined first: a slit that
 * begins at a corner of an outline drawn side by side is no side of it.
 */
const looseOnes = (
  ends: readonly End[],
  count: number,
  candidates: readonly { readonly i: number; readonly j: number }[],
): ReadonlySet<number> => {
  const meets = ends.map((): number[] => []);
  for (const { i, j } of candidates) {
    meets[i]?.push(j);
    meets[j]?.push(i);
  }
  const live = meets.map((others) => others.length);
  const loose = new Set<number>();
  const dead = live.flatMap((n, end) => (n === 0 ? [end] : []));
  for (let end = dead.pop(); end !== undefined && loose.size < count; end = dead.pop()) {
    const { path } = ends[end] as End;
    if (loose.has(path)) continue;
    loose.add(path);
    // Ends come in pairs 2k, 2k + 1.
    for (const one of [end, end ^ 1])
      for (const other of meets[one] as number[]) {
        live[other] = (live[other] as number) - 1;
        if (live[other] === 0) dead.push(other);
      }
  }
  return loose;
};

const pairUp = <S extends Space>(ends: readonly End[], paths: readonly Path<S>[], within: Um) => {
  const cell = Math.max(1, within);
  const grid = new Map<string, number[]>();
  const candidates: { gap: number; i: number; j: number }[] = [];
  ends.forEach((end, j) => {
    const [cx, cy] = [Math.floor(end.x / cell), Math.floor(end.y / cell)];
    for (let x = cx - 1; x <= cx + 1; x++)
      for (let y = cy - 1; y <= cy + 1; y++)
        for (const i of grid.get(`${x} ${y}`) ?? []) {
          const other = ends[i] as End;
          const gap = Math.hypot(end.x - other.x, end.y - other.y);
          // A line of two points cannot close on itself: that would be the line twice.
          const alone = other.path === end.path && (paths[end.path] as Path<S>).length < 3;
          if (gap <= within && !alone) candidates.push({ gap, i, j });
        }
    const key = `${cx} ${cy}`;
    const here = grid.get(key);
    if (here) here.push(j);
    else grid.set(key, [j]);
  });
  const loose = looseOnes(ends, paths.length, candidates);
  const isLoose = (end: number): number => (loose.has((ends[end] as End).path) ? 1 : 0);
  const late = ({ i, j }: { i: number; j: number }): number => Math.max(isLoose(i), isLoose(j));
  candidates.sort((a, b) => late(a) - late(b) || a.gap - b.gap || a.i - b.i || a.j - b.j);
  const mate = new Map<number, number>();
  const bridges: Bridge<S>[] = [];
  for (const { gap, i, j } of candidates) {
    if (mate.has(i) || mate.has(j)) continue;
    mate.set(i, j).set(j, i);
    if (gap > 0) bridges.unshift({ at: { x: (ends[i] as End).x, y: (ends[i] as End).y }, gap });
  }
  return { mate, bridges };
};
