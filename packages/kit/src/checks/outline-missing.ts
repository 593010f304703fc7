import { selfCrossings } from "@kitforme/geometry";
import { type Check, ringsFor } from "./check.ts";

/**
 * A piece needs at least one closed cutting contour with an area. Asked last: where something is wrong with the cutting lines
 * themselves (none found, open, a figure of eight), that is why there is no outline, and it has been reported.
 */
export const outlineMissing: Check = (piece, report) => {
  if (piece.parts.length > 0 || ringsFor(piece).some((ring) => selfCrossings(ring, { most: 1 }).length > 0)) return;
  if (report.findings().some((f) => f.level === "error" && f.where.operation === "cutting")) return;
  const cuts = piece.lines.filter((l) => l.operation === "cutting").length;
  report.say("outline-missing", { cuts }, { operation: "cutting" });
};
