import { bounds, type Contour, grow, mm, reversed, toMm, type Um } from "@kitforme/geometry";
import { placeOf } from "../../numbers.ts";
import { bleedOn, type FitCheck } from "./fit-check.ts";

/** Surely narrower than twice the bleed: within the tolerance of an offset, the offset itself decides. */
const SURELY: Um = mm(0.05);

const closes = (opening: Contour, bleed: Um): boolean => {
  const { width, height } = bounds(opening);
  if (Math.min(width, height) < 2 * bleed - SURELY) return true;
  return grow([{ outer: reversed(opening), openings: [] }], -bleed).length === 0;
};

/** An opening that the bleed from all its sides fills: worth knowing, nothing to correct. */
export const openingCloses: FitCheck = (piece, stock, report) => {
  const bleed = bleedOn(piece, stock);
  if (bleed === 0) return;
  const closed = piece.parts
    .flatMap((part) => part.openings)
    .filter((opening) => closes(opening, bleed))
    .map((opening) => bounds(opening));
  const [first] = closed;
  if (first)
    report.say(
      "opening-closes",
      { openings: closed.length, bleed: toMm(bleed), width: toMm(first.width), height: toMm(first.height) },
      { at: placeOf(first) },
    );
};
