import { contourOf, distanceBetween, type Point, type Rect, rectHas, ROUNDING, toMm } from "@kitforme/geometry";
import type { Line } from "../kit.ts";
import { placeOf } from "../numbers.ts";
import type { Check } from "./check.ts";
import { beyondPaper } from "./slot-outside.ts";

const distanceTo = (box: Rect, line: Line): number =>
  rectHas(box, line.points[0] as Point) ? 0 : distanceBetween({ points: contourOf(box), closed: true }, line);

/**
 * A slot's box keeps `safe` from every cut, crease and perforation. Only a warning: the text may be smaller than its box.
 * A box that reaches over the cut has been reported by `slot-outside` already.
 */
export const slotTooNear: Check = ({ parts, lines, slots }, report) => {
  for (const { slot, box, safe } of slots) {
    let nearest: { readonly line: Line; readonly distance: number } | undefined;
    const over = beyondPaper(box, parts) !== undefined;
    for (const line of lines) {
      if (over && line.operation === "cutting") continue;
      const distance = distanceTo(box, line);
      if (!nearest || distance < nearest.distance) nearest = { line, distance };
    }
    if (nearest && nearest.distance < safe - ROUNDING)
      report.say(
        "slot-too-near",
        { distance: toMm(nearest.distance), safe: toMm(safe), operation: nearest.line.operation },
        { slot, at: placeOf(box) },
      );
  }
};
