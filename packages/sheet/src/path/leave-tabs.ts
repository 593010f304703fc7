import { mm, type Path, type Point, type Space, type Um } from "@kitforme/geometry";
import type { Operation } from "@kitforme/kit";
import { along, type Place } from "./along.ts";
import { isCorner } from "./starts-of.ts";

/** A tab's way to the next corner or crease (contract; common practice, no source). */
const AWAY = mm(5);
/** Places are looked at this far apart. */
const STEP = mm(0.5);
/** A turn made within this on either side is a corner too: one rounded by a radius of up to 2 mm, or cut off. */
const ROUNDED = mm(1);
/** What turns between shorter edges is the unevenness of a traced line. */
const JITTER = mm(0.2);

/** Distance from a point to a straight run. */
const toRun = (p: { x: number; y: number }, a: Point, b: Point): number => {
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  const square = dx * dx + dy * dy;
  const t = square === 0 ? 0 : Math.min(1, Math.max(0, ((p.x - a.x) * dx + (p.y - a.y) * dy) / square));
  return Math.hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
};

/** Tabs as a shop asks for them: how many, and how wide a bridge. */
export interface Tabs {
  readonly count: number;
  readonly length: Um;
}

/** The lines of a piece that its tabs keep away from: what it is folded or torn along, and slits (common practice, no source). */
export const awayFromTabs = <S extends Space>(
  lines: readonly { readonly operation: Operation; readonly closed: boolean; readonly points: Path<S> }[],
): Path<S>[] =>
  lines.flatMap(({ operation, closed, points }) => {
    if (operation === "partialCutting" || (operation === "cutting" && closed)) return [];
    return [closed ? [...points, points[0] as Point<S>] : points];
  });

/** The vertex farthest from the middle of the ring's vertices: the same one wherever the piece lies and however it is turned. */
const farthest = (ring: Path): number => {
  const x = ring.reduce((sum, p) => sum + p.x, 0) / ring.length;
  const y = ring.reduce((sum, p) => sum + p.y, 0) / ring.length;
  const far = ring.map((p) => Math.hypot(p.x - x, p.y - y));
  return far.indexOf(Math.max(...far));
};

/**
 * Where tabs find a place on an outline: spread evenly and moved to where they lie at least 5 mm from every corner and
 * crease. Where there is no such place there are fewer. Turning or moving the piece does not change how many.
 *
 * @param creases lines of the same piece that tabs keep away from, as `awayFromTabs` names them
 * @returns the middles of the tabs as lengths along the ring from its first point, micrometres, ascending
 */
export const placeTabs = (ring: Path, creases: readonly Path[], { count, length }: Tabs): readonly number[] => {
  const first = farthest(ring);
  const from = [...ring.slice(first), ...ring.slice(0, first)];
  const line = along(from, true);
  const before = first === 0 ? 0 : along(ring.slice(0, first + 1), false).length;
  const n = ring.length;
  const at = (i: number): Point => ring[(i + n) % n] as Point;
  const whole = along(ring, true);
  let distance = 0;
  const corners = ring.filter((p, i) => {
    if (i > 0) distance += Math.hypot(p.x - at(i - 1).x, p.y - at(i - 1).y);
    const around = [distance - ROUNDED, distance + ROUNDED].map(whole.at);
    const edges = [at(i - 1), at(i + 1)].map((q) => Math.hypot(q.x - p.x, q.y - p.y));
    return (
      (Math.min(...edges) >= JITTER && isCorner(at(i - 1), p, at(i + 1))) ||
      isCorner(around[0] as Place, p, around[1] as Place)
    );
  });
  const free = (middle: number): boolean => {
    const places = [middle - length / 2, middle, middle + length / 2].map(line.at);
    return places.every(
      (p) =>
        corners.every((c) => Math.hypot(c.x - p.x, c.y - p.y) >= AWAY) &&
        creases.every((crease) => crease.every((a, i) => i === 0 || toRun(p, crease[i - 1] as Point, a) >= AWAY)),
    );
  };
  const places = Array.from({ length: Math.floor(line.length / STEP) }, (_, i) => i * STEP).filter(free);
  const middles: number[] = [];
  const between = (a: number, b: number): number => {
    const d = Math.abs(a - b);
    return Math.min(d, line.length - d);
  };
  // No two tabs nearer than half their even spacing: a group of tabs holds a piece at one side only.
  const apart = Math.max(2 * length, line.length / count / 2);
  for (let k = 0; k < count; k++) {
    const wish = ((k + 0.5) * line.length) / count;
    let best: number | undefined;
    for (const place of places)
      if (
        middles.every((m) => between(m, place) >= apart) &&
        (best === undefined || between(place, wish) < between(best, wish))
      )
        best = place;
    if (best !== undefined) middles.push(best);
  }
  return middles.map((middle) => (middle + before) % line.length).sort((a, b) => a - b);
};

/**
 * An outline with bridges left in it.
 *
 * @param creases lines of the same piece that tabs keep away from, as `awayFromTabs` names them
 * @returns the cuts between the tabs; none when no tab found its place
 */
export const leaveTabs = (
  ring: Path<"sheet">,
  creases: readonly Path<"sheet">[],
  wanted: Tabs,
): { readonly cuts: readonly Path<"sheet">[]; readonly tabs: number } => {
  const middles = placeTabs(ring, creases, wanted);
  if (middles.length === 0) return { cuts: [], tabs: 0 };
  const line = along(ring, true);
  const { length } = wanted;
  const cuts = middles.map((middle, i) => {
    const next = middles[i + 1] ?? (middles[0] as number) + line.length;
    return line.stretch(middle + length / 2, next - length / 2);
  });
  return { cuts: cuts.filter((c) => c.length > 1), tabs: middles.length };
};
