import { lengthOf, mm, toMm } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import { alongside } from "./alongside.ts";
import { type Check, pathOf } from "./check.ts";

/** A print may lie this far from the cut and still be meant for it; a frame farther inside is an ornament. */
const ALONG = mm(0.3);
/** Of the cut's own length: a stroke that goes along less of it is no die line. */
const MOST = 0.8;

/** A thin stroke in the artwork that runs along a cut: the designer's copy of the die line, which would show at the edge. */
export const dieLinePrints: Check = ({ lines, drawnAs }, report) => {
  const cuts = lines.filter((line) => line.operation === "cutting" && line.closed);
  for (const { element, width, points, closed } of drawnAs?.strokes ?? []) {
    const stroke = { operation: "cutting", points, closed } as const;
    const length = lengthOf(pathOf(stroke));
    for (const cut of cuts) {
      if (length < MOST * lengthOf(pathOf(cut))) continue;
      const met = alongside(stroke, cut, ALONG, () => ALONG);
      if (!met || !alongside(cut, stroke, ALONG, () => ALONG)) continue;
      report.say("die-line-prints", { element, width: toMm(width) }, { operation: "cutting", at: placeOf(met.at) });
      break;
    }
  }
};
