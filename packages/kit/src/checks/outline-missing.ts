import type { Check } from "./check.ts";

/** A piece needs at least one closed cutting contour with an area. */
export const outlineMissing: Check = ({ parts, lines }, told) => {
  if (parts.length === 0)
    told.say(
      "outline-missing",
      { cuts: lines.filter((l) => l.operation === "cutting").length },
      { operation: "cutting" },
    );
};
