import { bounds, mm, toMm } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import type { Check } from "./check.ts";

/** Below half a millimetre no blade cuts a contour: it is a stray click. (Common practice: holes from 3 mm.) */
const TINY = mm(0.5);

export const contourTiny: Check = ({ lines }, report) => {
  for (const { operation, closed, points } of lines) {
    if (!closed) continue;
    const box = bounds(points);
    if (Math.max(box.width, box.height) < TINY)
      report.say("contour-tiny", { width: toMm(box.width), height: toMm(box.height) }, { operation, at: placeOf(box) });
  }
};
