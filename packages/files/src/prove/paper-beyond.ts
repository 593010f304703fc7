import { area, type Outline, type Point } from "@kitforme/geometry";

/** Cuts are looked at so often, micrometres along them, and so finely beyond them. */
const ALONG = 1000;
const OUT = 100;
/** Ink is looked for so far within the cut: the very edge is half a pixel of both. */
const WITHIN = 300;
/** Directions in which paper is looked for, evenly around: as many as let the normals of usual drawings be among them. */
const WAYS = 24;

/** A point of a cut and how far beyond it the ink of its piece reaches, micrometres of the drawing. */
export interface CutPoint {
  readonly at: Point<"drawing">;
  /** Square to the cut, away from the piece; Infinity where there is no ink within the cut: bare paper is meant there. */
  readonly by: number;
  /** In each of the directions, as far as they lead away from the piece; else Infinity. */
  readonly ways: readonly number[];
}

/**
 * Looks how far the ink of a piece reaches beyond each of its cuts.
 * @param most as far as is looked, micrometres
 */
export const inkBeyond = (
  parts: readonly Outline<"drawing">[],
  most: number,
  inked: (x: number, y: number) => boolean,
): CutPoint[][] =>
  parts
    .flatMap(({ outer, openings }) => [{ ring: outer, out: 1 }, ...openings.map((ring) => ({ ring, out: -1 }))])
    .map(({ ring, out }) => {
      const turn = Math.sign(area(ring)) * out;
      return ring.flatMap((a, i) => {
        const b = ring[(i + 1) % ring.length] as Point<"drawing">;
        const length = Math.hypot(b.x - a.x, b.y - a.y);
        if (length === 0) return [];
        const [nx, ny] = [((b.y - a.y) / length) * turn, (-(b.x - a.x) / length) * turn];
        const count = Math.max(1, Math.round(length / ALONG));
        return Array.from({ length: count }, (_, k): CutPoint => {
          const t = (k + 0.5) / count;
          const at: Point<"drawing"> = { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
          if (!inked(at.x - WITHIN * nx, at.y - WITHIN * ny)) return { at, by: Infinity, ways: [] };
          const until = (x: number, y: number): number => {
            for (let by = OUT; by <= most; by += OUT) if (!inked(at.x + by * x, at.y + by * y)) return by - OUT;
            return most;
          };
          const ways = Array.from({ length: WAYS }, (_, w) => {
            const [x, y] = [Math.cos((2 * Math.PI * w) / WAYS), Math.sin((2 * Math.PI * w) / WAYS)];
            return x * nx + y * ny < 0.1 ? Infinity : until(x, y);
          });
          return { at, by: until(nx, ny), ways };
        });
      });
    });

/**
 * The least way beyond the cuts of a piece at which paper shows, whichever way its print lies off: square to the cut is the
 * shortest way to paper.
 * @returns the least that two neighbours along the cut bear out: one pixel is no edge; Infinity without ink at any cut
 */
export const paperBeyond = (rings: readonly (readonly CutPoint[])[]): Least => leastOf(rings, ({ by }) => by);

export interface Least {
  readonly by: number;
  readonly at?: Point<"drawing">;
}

/**
 * The same where the print lies off in one direction at every point.
 * @param off how the print is moved at a point of the drawing, for one micrometre of the pose
 * @returns micrometres of the pose
 */
export const paperUnder = (
  rings: readonly (readonly CutPoint[])[],
  off: (at: Point<"drawing">) => readonly [x: number, y: number],
): Least =>
  leastOf(rings, ({ at, ways }) => {
    if (ways.length === 0) return Infinity;
    const [x, y] = off(at);
    const much = Math.hypot(x, y);
    if (much < 1e-6) return Infinity;
    // What lies at the cut then came from the other side.
    const way = ((Math.atan2(-y, -x) / (2 * Math.PI)) * WAYS + WAYS) % WAYS;
    const [before, after] = [ways[Math.floor(way) % WAYS] ?? Infinity, ways[Math.ceil(way) % WAYS] ?? Infinity];
    return Math.min(before, after) / much;
  });

const leastOf = (rings: readonly (readonly CutPoint[])[], of: (point: CutPoint) => number): Least => {
  let least: Least = { by: Infinity };
  for (const ring of rings) {
    const found = ring.map(of);
    found.forEach((by, i) => {
      const borne = Math.max(found.at(i - 1) ?? by, by, found[(i + 1) % found.length] ?? by);
      const at = ring[i]?.at;
      if (borne < least.by && at) least = { by: borne, at };
    });
  }
  return least;
};
