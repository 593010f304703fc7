import {
  area,
  contourOf,
  JOINED_WITHIN,
  type Outline,
  outlinesBounds,
  type Rect,
  subtract,
  toMm,
} from "@kitforme/geometry";
import { placeOf } from "../numbers.ts";
import type { Check, Judged } from "./check.ts";

/** What of a slot's box lies beside the paper of the piece or over its openings, give or take 0.1 mm. */
export const beyondPaper = (
  box: Rect,
  parts: Judged["parts"],
): { readonly by: number; readonly at: Rect; readonly wholly: boolean } | undefined => {
  const pieces: Outline<"drawing">[] = subtract([{ outer: contourOf<"drawing">(box), openings: [] }], parts);
  // The narrow side of what sticks out is how far the box would have to move.
  let worst: Rect | undefined;
  for (const bounds of pieces.map((o) => outlinesBounds([o])))
    if (!worst || Math.min(bounds.width, bounds.height) > Math.min(worst.width, worst.height)) worst = bounds;
  const by = worst ? Math.min(worst.width, worst.height) : 0;
  if (!worst || by <= JOINED_WITHIN) return undefined;
  const outside = pieces.reduce(
    (sum, { outer, openings }) => sum + [outer, ...openings].reduce((a, ring) => a + area(ring), 0),
    0,
  );
  // A micrometre along each side is the rounding of the clip.
  return { by, at: worst, wholly: Math.abs(outside) >= box.width * box.height - 2 * (box.width + box.height) };
};

/**
 * A slot's box lies on the paper of the piece, off its openings. One that reaches beyond is only warned of, for its text may
 * be smaller than the box, and one that really would be cut is refused when it is set; a box wholly beyond can hold none.
 */
export const slotOutside: Check = ({ parts, slots }, report) => {
  if (parts.length === 0) return;
  for (const { slot, box, kind } of slots) {
    const beyond = beyondPaper(box, parts);
    // A picture runs over the cut on purpose, as artwork does: that is its bleed.
    if (beyond && (kind !== "picture" || beyond.wholly))
      report.say("slot-outside", { by: toMm(beyond.by), wholly: beyond.wholly }, { slot, at: placeOf(beyond.at) });
  }
};
