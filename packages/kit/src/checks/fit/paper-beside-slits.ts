import {
  bounds,
  distanceBetween,
  JOINED_WITHIN,
  type NearEdges,
  nearEdges,
  type Point,
  toMm,
  touches,
  type Um,
} from "@kitforme/geometry";
import type { Line } from "../../kit.ts";
import { placeOf } from "../../numbers.ts";
import type { FitCheck } from "./fit-check.ts";
import { FINE } from "./paper-thin.ts";

interface Narrow {
  readonly apart: Um;
  readonly at: Point<"drawing">;
}

type Spot = { readonly x: number; readonly y: number };

/** Paper between a slit and another cut, thinner than the cutter can leave it. */
export const paperBesideSlits: FitCheck = (piece, { cutter }, report) => {
  const least = cutter.least.bridge;
  if (least === 0) return;
  for (const { apart, at } of besideSlits(piece.lines, least))
    report.say("paper-thin", { width: toMm(apart), least: toMm(least) }, { operation: "cutting", at: placeOf(at) });
};

/**
 * The thinnest paper between a slit and any other cut. Cuts that meet have none between them; slits end to end are a
 * perforation drawn by hand, and its ties are meant to be thin.
 */
const besideSlits = (lines: readonly Line[], least: Um): Narrow[] => {
  const cuts = lines.filter((line) => line.operation === "cutting").map((line) => ({ line, box: bounds(line.points) }));
  const found: Narrow[] = [];
  for (const [k, one] of cuts.entries())
    for (const two of cuts.slice(k + 1)) {
      if (one.line.closed && two.line.closed) continue;
      if (!touches(one.box, two.box, least)) continue;
      let nearest: NearEdges | undefined;
      nearEdges(one.line, two.line, least - FINE, (pair) => {
        if (!nearest || pair.apart < nearest.apart) nearest = pair;
        return nearest.apart <= JOINED_WITHIN;
      });
      if (!nearest || nearest.apart <= JOINED_WITHIN || crosses(one.line, two.line)) continue;
      const { i, j, p, q, apart } = nearest;
      if (endsTowards(one.line, i, p, q) && endsTowards(two.line, j, q, p)) continue;
      found.push({ apart, at: { x: Math.round((p.x + q.x) / 2), y: Math.round((p.y + q.y) / 2) } });
    }
  return found;
};

/** Whether an open line ends at p, on its edge i, and would go on towards q. */
const endsTowards = ({ points, closed }: Line, i: number, p: Spot, q: Spot): boolean => {
  if (closed || ![points[0], points.at(-1)].some((end) => end && Math.hypot(end.x - p.x, end.y - p.y) < 1))
    return false;
  const [a, b] = [points[i], points[i + 1]];
  if (!a || !b) return false;
  const along = Math.abs((b.x - a.x) * (q.x - p.x) + (b.y - a.y) * (q.y - p.y));
  return along > 0.7 * Math.hypot(b.x - a.x, b.y - a.y) * Math.hypot(q.x - p.x, q.y - p.y);
};

/** Lines that cross are at no distance, which edges that cross do not show. */
const crosses = (one: Line, two: Line): boolean => distanceBetween(one, two) === 0;
