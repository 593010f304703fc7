import { area, bounds, containsPoint, containsRect } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import type { Check } from "./check.ts";

/** A contour inside an opening would be cut out of nothing: the opening falls out as waste. */
export const openingOutside: Check = ({ parts }, report) => {
  const openings = parts.flatMap((p) => p.openings.map((ring) => ({ ring, box: bounds(ring) })));
  for (const { outer } of parts) {
    const [first] = outer;
    const box = bounds(outer);
    if (first && openings.some((o) => containsRect(o.box, box) && outer.every((p) => containsPoint(o.ring, p) >= 0)))
      report.say(
        "opening-outside",
        { area: Math.abs(area(outer)) / 1e6 },
        { operation: "cutting", at: placeOf(first) },
      );
  }
};
