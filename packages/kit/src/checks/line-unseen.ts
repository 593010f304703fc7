import type { Check } from "./check.ts";

/** A line that nobody sees among others that are seen: office programs draw an invisible box around every shape. */
export const lineUnseen: Check = ({ drawnAs }, report) => {
  for (const { element, operation, at } of drawnAs?.unseen ?? [])
    report.say("line-unseen", { element }, { operation, at });
};
