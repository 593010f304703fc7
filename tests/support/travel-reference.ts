// What a cutter's way with the tool raised is held against; it shares nothing with the product but the shape of a stop.
import type { Point } from "@kitforme/geometry";
import type { Stop } from "@kitforme/sheet";

/** Rounds of order and entries; they settle after three or four. */
const ROUNDS = 6;

/**
 * Nearest neighbour with free starts, then 2-opt with the starts chosen anew (the classical pair; written for these tests), never
 * against what must come first.
 *
 * @returns micrometres with the tool raised from where it stood, and where it stands then
 */
export const referenceTravel = (
  stops: readonly Stop[],
  from: Point = { x: 0, y: 0 },
): { readonly travel: number; readonly at: Point } => {
  const apart = (p: Point, q: Point): number => Math.hypot(p.x - q.x, p.y - q.y);
  /** An open line is left at its other end. */
  const leave = ({ stop, at }: Visit): Point => {
    const { closed, entries } = stops[stop] as Stop;
    return closed ? at : (entries.find((p) => p !== at) ?? at);
  };
  const left = new Set(stops.keys());
  const tour: Visit[] = [];
  while (left.size > 0) {
    const last = tour.at(-1);
    const pen = last ? leave(last) : from;
    let best: Visit | undefined;
    for (const stop of left) {
      if (stops[stop]?.after.some((first) => left.has(first))) continue;
      for (const at of stops[stop]?.entries ?? [])
        if (!best || apart(pen, at) < apart(pen, best.at)) best = { stop, at };
    }
    if (!best) throw new Error("stops wait for each other in a ring");
    tour.push(best);
    left.delete(best.stop);
  }
  const length = (of: readonly Visit[]): number => {
    let [sum, pen] = [0, from];
    for (const visit of of) {
      sum += apart(pen, visit.at);
      pen = leave(visit);
    }
    return sum;
  };
  const valid = (of: readonly Visit[]): boolean => {
    const done = new Set<number>();
    return of.every(({ stop }) => {
      done.add(stop);
      return stops[stop]?.after.every((first) => done.has(first)) ?? false;
    });
  };
  const gap = (p: Point | undefined, q: Point | undefined): number => (p && q ? apart(p, q) : 0);
  const free = stops.every(({ after, closed }) => closed && after.length === 0);
  const exitOf = (i: number): Point | undefined => (i < 0 ? from : tour[i] && leave(tour[i]));
  /** The stretch the other way round: open lines are then entered at their other ends. */
  const turned = (stretch: readonly Visit[]): Visit[] =>
    stretch.map((visit) => ({ stop: visit.stop, at: leave(visit) })).reverse();
  for (let round = 0; round < ROUNDS; round++) {
    for (let better = true; better; ) {
      better = false;
      for (let i = 0; i < tour.length - 1; i++)
        for (let j = i + 1; j < tour.length; j++) {
          const [first, last] = [tour[i] as Visit, tour[j] as Visit];
          const now = gap(exitOf(i - 1), first.at) + gap(exitOf(j), tour[j + 1]?.at);
          const then = gap(exitOf(i - 1), leave(last)) + gap(first.at, tour[j + 1]?.at);
          if (then >= now - 1) continue;
          const other = [...tour.slice(0, i), ...turned(tour.slice(i, j + 1)), ...tour.slice(j + 1)];
          if (!free && !valid(other)) continue;
          tour.splice(0, tour.length, ...other);
          better = true;
        }
    }
    for (const visit of tour) {
      for (const at of stops[visit.stop]?.entries ?? []) {
        const [before, old] = [length(tour), visit.at];
        visit.at = at;
        if (length(tour) > before) visit.at = old;
      }
    }
  }
  return { travel: length(tour), at: tour.length > 0 ? leave(tour.at(-1) as Visit) : from };
};

interface Visit {
  readonly stop: number;
  at: Point;
}
