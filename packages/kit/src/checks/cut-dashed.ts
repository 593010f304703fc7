import type { Check } from "./check.ts";

/** A dashed stroke in a cutting layer: it looks like a crease or a perforation, and is cut through from end to end. */
export const cutDashed: Check = ({ drawnAs }, report) => {
  for (const { element, operation, paint, at } of drawnAs?.dashed ?? [])
    report.say("cut-dashed", { element, dashes: paint }, { operation, at });
};
