import { bounds, grow, reversed, toMm } from "@kitforme/geometry";
import { placeOf } from "../../numbers.ts";
import { bleedOn, type FitCheck } from "./fit-check.ts";

/** An opening that the bleed from all its sides fills: worth knowing, nothing to correct. */
export const openingCloses: FitCheck = (piece, stock, told) => {
  const bleed = bleedOn(piece, stock);
  if (bleed === 0) return;
  for (const { openings } of piece.parts)
    for (const opening of openings) {
      if (grow([{ outer: reversed(opening), openings: [] }], -bleed).length > 0) continue;
      const box = bounds(opening);
      told.say(
        "opening-closes",
        { bleed: toMm(bleed), width: toMm(box.width), height: toMm(box.height) },
        { at: placeOf(box) },
      );
    }
};
