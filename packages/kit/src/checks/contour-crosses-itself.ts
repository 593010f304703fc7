import { selfCrossings } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import type { Check } from "./check.ts";

/** Closed cuts and kiss cuts go round once. */
export const contourCrossesItself: Check = ({ lines }, report) => {
  for (const { operation, closed, points } of lines) {
    if (!closed || (operation !== "cutting" && operation !== "partialCutting")) continue;
    const places = selfCrossings(points);
    const [first] = places;
    if (first) report.say("contour-crosses-itself", { times: places.length }, { operation, at: placeOf(first) });
  }
};
