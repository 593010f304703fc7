import { contourOf, JOINED_WITHIN, outlinesBounds, subtract, toMm } from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import type { Check } from "./check.ts";

/** A slot's box lies on the paper of the piece, off its openings, give or take 0.1 mm. */
export const slotOutside: Check = ({ parts, slots }, told) => {
  if (parts.length === 0) return;
  for (const { slot, box } of slots) {
    const beyond = subtract([{ outer: contourOf<"drawing">(box), openings: [] }], parts).map((o) =>
      outlinesBounds([o]),
    );
    // The narrow side of what sticks out is how far the box would have to move.
    const worst = beyond.reduce<(typeof beyond)[number] | undefined>(
      (most, b) => (!most || Math.min(b.width, b.height) > Math.min(most.width, most.height) ? b : most),
      undefined,
    );
    const by = worst ? Math.min(worst.width, worst.height) : 0;
    if (worst && by > JOINED_WITHIN) told.say("slot-outside", { by: toMm(by) }, { slot, at: placeOf(worst) });
  }
};
