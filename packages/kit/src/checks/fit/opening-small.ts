import { bounds, ROUNDING, toMm } from "@kitforme/geometry";
import { placeOf } from "../../numbers.ts";
import type { FitCheck } from "./fit-check.ts";

/** Openings in which a blade cannot turn: shorter every way than the cutter's least. A long narrow slot is no such opening. */
export const openingSmall: FitCheck = (piece, { cutter }, report) => {
  const least = cutter.least.opening;
  for (const opening of piece.parts.flatMap((part) => part.openings)) {
    const box = bounds(opening);
    if (Math.max(box.width, box.height) < least - ROUNDING)
      report.say(
        "opening-small",
        { width: toMm(box.width), height: toMm(box.height), least: toMm(least) },
        { operation: "cutting", at: placeOf({ x: box.x + box.width / 2, y: box.y + box.height / 2 }) },
      );
  }
};
