import { clipPaths, JOINED_WITHIN, lengthOf, type Path, type Point, toMm } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import { type Check, farthest } from "./check.ts";

interface End {
  readonly path: number;
  readonly at: Point<"drawing">;
}

const apart = (p: Point, q: Point): number => Math.hypot(p.x - q.x, p.y - q.y);

/**
 * An open cut is a slit when its ends lie at least half its length apart and it lies inside the piece (it may start at the
 * edge). Any other open cut is a contour that was not closed, reported with the nearest loose end; one that runs out of the piece
 * and has no other end near is reported as such.
 */
export const contourOpen: Check = ({ parts, lines }, report) => {
  const cuts = lines.filter((l) => l.operation === "cutting" && !l.closed).map((l) => l.points);
  const slitOf = (
    path: Path<"drawing">,
  ): { readonly slit: boolean; readonly by: number; readonly at: Point<"drawing"> | undefined } => {
    if (parts.length === 0) return { slit: false, by: 0, at: undefined };
    const { by, at } = farthest(clipPaths([path], parts, "outside"), parts);
    const gap = apart(path[0] as Point, path.at(-1) as Point);
    return { slit: by <= JOINED_WITHIN && gap >= lengthOf(path) / 2, by, at };
  };
  const loose = cuts.map((path) => ({ path, ...slitOf(path) })).filter((cut) => !cut.slit);
  const ends: End[] = loose.flatMap(({ path }, i) => [
    { path: i, at: path[0] as Point<"drawing"> },
    { path: i, at: path.at(-1) as Point<"drawing"> },
  ]);
  const toldOf = new Set<number>();
  for (const [i, { path, by, at }] of loose.entries()) {
    if (toldOf.has(i)) continue;
    const own = ends.filter((e) => e.path === i);
    let best: { from: Point<"drawing">; to: Point<"drawing">; gap: number; path: number } | undefined;
    for (const [k, end] of own.entries())
      for (const other of ends)
        if (other !== end && !(other.path === i && k === 1)) {
          const gap = apart(end.at, other.at);
          if (!best || gap < best.gap) best = { from: end.at, to: other.at, gap, path: other.path };
        }
    if (!best) continue;
    const straight = best.path === i && best.gap >= lengthOf(path) / 2;
    // A straight cut and no outline for it to be a slit of: `outline-missing` says so.
    if (straight && parts.length === 0) continue;
    if (straight && at && by > JOINED_WITHIN)
      report.say("cut-outside", { by: toMm(by) }, { operation: "cutting", at: placeOf(at) });
    else {
      report.say(
        "contour-open",
        { gap: toMm(best.gap), from: placeOf(best.from), to: placeOf(best.to) },
        { operation: "cutting", at: placeOf(best.from) },
      );
      // The other end of the same gap is the same fault.
      if (best.path > i) toldOf.add(best.path);
    }
  }
};
