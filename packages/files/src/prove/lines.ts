import type { Point } from "@kitforme/geometry";
import type { Operation } from "@kitforme/kit";

/** A line, of the drawing at its place or as read back. */
export interface Way {
  readonly operation: Operation;
  readonly tool?: Operation;
  readonly closed: boolean;
  readonly points: readonly Point<"sheet">[];
}

/** Lines are compared at points no farther apart than this, micrometres. */
const STEP = 1000;
/** Width of a cell of the index of lines, micrometres. */
const CELL = 4000;

type Segment = readonly [ax: number, ay: number, bx: number, by: number];

/** Straight parts of lines by the cells that they may pass. */
export type LineIndex = ReadonlyMap<number, readonly Segment[]>;

const keyAt = (x: number, y: number): number => Math.floor(y / CELL) * 100_000 + Math.floor(x / CELL);

const segmentsOf = ({ points, closed }: Way): Segment[] =>
  points.flatMap((p, i): Segment[] => {
    const q = points[i + 1] ?? (closed ? points[0] : undefined);
    return q ? [[p.x, p.y, q.x, q.y]] : [];
  });

export const indexed = (ways: readonly Way[]): LineIndex => {
  const cells = new Map<number, Segment[]>();
  for (const segment of ways.flatMap(segmentsOf)) {
    const [ax, ay, bx, by] = segment;
    for (let y = Math.floor(Math.min(ay, by) / CELL); y <= Math.floor(Math.max(ay, by) / CELL); y++)
      for (let x = Math.floor(Math.min(ax, bx) / CELL); x <= Math.floor(Math.max(ax, bx) / CELL); x++) {
        const key = y * 100_000 + x;
        const cell = cells.get(key);
        if (cell) cell.push(segment);
        else cells.set(key, [segment]);
      }
  }
  return cells;
};

/** Points along a line, its last among them. */
export const sampled = function* (way: Way): Generator<Point<"sheet">> {
  for (const [ax, ay, bx, by] of segmentsOf(way)) {
    const count = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / STEP));
    for (let i = 0; i < count; i++) yield { x: ax + ((bx - ax) * i) / count, y: ay + ((by - ay) * i) / count };
  }
  const last = way.points.at(-1);
  if (last) yield last;
};

/** Distance to the nearest of the lines; Infinity where none is within 4 mm. */
export const nearest = (index: LineIndex, { x, y }: Point<"sheet">): number => {
  let least = Infinity;
  // Its square with room for rounding: what is farther by that is not measured to the last digit, which takes ten times as long.
  let most = Infinity;
  const key = keyAt(x, y);
  const [left, bottom] = [Math.floor(x / CELL) * CELL, Math.floor(y / CELL) * CELL];
  // Its own cell first: a line of another is nearer only where that cell is.
  for (const [dx, dy] of AROUND) {
    const across = dx === 0 ? 0 : dx < 0 ? x - left : left + CELL - x;
    const up = dy === 0 ? 0 : dy < 0 ? y - bottom : bottom + CELL - y;
    if (across * across + up * up > most) continue;
    const cell = index.get(key + dy * 100_000 + dx);
    if (!cell) continue;
    for (const segment of cell) {
      const [ax, ay] = [segment[0], segment[1]];
      const [ux, uy] = [segment[2] - ax, segment[3] - ay];
      const length = ux * ux + uy * uy;
      const t = length === 0 ? 0 : Math.max(0, Math.min(1, ((x - ax) * ux + (y - ay) * uy) / length));
      const [vx, vy] = [x - ax - t * ux, y - ay - t * uy];
      if (vx * vx + vy * vy > most) continue;
      const by = Math.hypot(vx, vy);
      if (by >= least) continue;
      least = by;
      most = by * by * (1 + 1e-9) + 1e-9;
    }
  }
  return least;
};

/** A cell and the eight around it. */
const AROUND = [
  [0, 0],
  [-1, 0],
  [1, 0],
  [0, -1],
  [0, 1],
  [-1, -1],
  [1, -1],
  [-1, 1],
  [1, 1],
] as const;

/** How far from a point in a direction (of length 1) the first line is met; Infinity where none is within a cell around it. */
export const firstMet = (index: LineIndex, { x, y }: Point<"sheet">, [u, v]: readonly [number, number]): number => {
  let first = Infinity;
  for (let dy = -1; dy <= 1; dy++)
    for (let dx = -1; dx <= 1; dx++)
      for (const [ax, ay, bx, by] of index.get(keyAt(x, y) + dy * 100_000 + dx) ?? []) {
        const [p, q] = [bx - ax, by - ay];
        const cross = u * q - v * p;
        if (cross === 0) continue;
        const along = ((ax - x) * q - (ay - y) * p) / cross;
        const share = ((ax - x) * v - (ay - y) * u) / cross;
        if (along >= 0 && along < first && share >= 0 && share <= 1) first = along;
      }
  return first;
};
