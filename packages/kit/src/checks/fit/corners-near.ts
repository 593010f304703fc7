import { type Contour, type Path, ROUNDING, simplifyPath, simplifyRing, toMm, type Um } from "@kitforme/geometry";
import type { Line } from "../../kit.ts";
import { placeOf } from "../../numbers.ts";
import type { FitCheck } from "./fit-check.ts";

/** A blade is lifted or swung where a line turns by more; chamfers of 45 degrees and curves are followed. Common practice, no source. */
const SHARP = Math.cos((60 * Math.PI) / 180);
/** A stray from the line that no cutter shows: corners of such a wiggle are no corners. */
const UNSEEN = 200;

/** Corners of a cutting line that are nearer to each other, along the line, than the cutter can turn its blade twice. */
export const cornersNear: FitCheck = (piece, { cutter }, report) => {
  const least = cutter.least.corner;
  for (const line of piece.lines) {
    if (line.operation !== "cutting") continue;
    for (const { apart, at } of nearCorners(line, least))
      report.say("corners-near", { apart: toMm(apart), least: toMm(least) }, { operation: "cutting", at: placeOf(at) });
  }
};

interface Corner {
  readonly at: Path<"drawing">[number];
  readonly along: Um;
  /** Turns to the left. */
  readonly left: boolean;
  /** The straight stretches before and after it. */
  readonly before: Um;
  readonly after: Um;
}

/**
 * Two corners one after the other that turn the same way, as the end of a slot does, with straight stretches before and after that
 * are longer than they are apart: the zigzag of a traced edge has neither.
 */
const nearCorners = ({ points, closed }: Line, least: Um): { apart: Um; at: Path<"drawing">[number] }[] => {
  const path: Contour<"drawing"> = closed ? simplifyRing(points, UNSEEN) : simplifyPath(points, UNSEEN);
  const corners: Corner[] = [];
  let along = 0;
  for (const [i, p] of path.entries()) {
    const last = path[i - 1] ?? (closed ? path.at(-1) : undefined);
    const next = path[i + 1] ?? (closed ? path[0] : undefined);
    const after = next ? Math.hypot(next.x - p.x, next.y - p.y) : 0;
    if (last && next) {
      const [ux, uy, vx, vy] = [p.x - last.x, p.y - last.y, next.x - p.x, next.y - p.y];
      const before = Math.hypot(ux, uy);
      if (ux * vx + uy * vy < SHARP * before * after)
        corners.push({ at: p, along, left: ux * vy - uy * vx > 0, before, after });
    }
    along += after;
  }
  return corners.flatMap((one, i) => {
    const two = corners[i + 1] ?? (closed && corners.length > 1 ? corners[0] : undefined);
    if (!two || one.left !== two.left) return [];
    const apart = two.along > one.along ? two.along - one.along : along - one.along + two.along;
    const near = apart < least - ROUNDING && one.before >= apart && two.after >= apart;
    return near ? [{ apart, at: one.at }] : [];
  });
};
