import { selfCrossings } from "@kitforme/geometry";
import { type Check, ringsFor } from "./check.ts";

/** A piece needs at least one closed cutting contour with an area. A figure of eight has none, but that is told as such. */
export const outlineMissing: Check = (piece, told) => {
  if (piece.parts.length > 0 || ringsFor(piece).some((ring) => selfCrossings(ring, { most: 1 }).length > 0)) return;
  const cuts = piece.lines.filter((l) => l.operation === "cutting").length;
  told.say("outline-missing", { cuts }, { operation: "cutting" });
};
