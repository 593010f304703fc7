import { bounds, grow, reversed, toMm } from "@kitforme/geometry";
import { placeOf } from "../../numbers.ts";
import { bleedOn, type FitCheck } from "./fit-check.ts";

/** An opening that the bleed from all its sides fills: worth knowing, nothing to correct. */
export const openingCloses: FitCheck = (piece, stock, report) => {
  const bleed = bleedOn(piece, stock);
  if (bleed === 0) return;
  const closed = piece.parts
    .flatMap((part) => part.openings)
    .filter((opening) => grow([{ outer: reversed(opening), openings: [] }], -bleed).length === 0)
    .map((opening) => bounds(opening));
  const [first] = closed;
  if (first)
    report.say(
      "opening-closes",
      { openings: closed.length, bleed: toMm(bleed), width: toMm(first.width), height: toMm(first.height) },
      { at: placeOf(first) },
    );
};
