import { bounds, containsRect, inset, mm, toMm, type Um } from "@kitforme/geometry";
import { ON } from "../doubled.ts";
import { placeOf } from "../numbers.ts";
import type { Line } from "../kit.ts";
import { alongside, mostOfIt, nearlyBoxed } from "./alongside.ts";
import type { Check } from "./check.ts";

/** Lines up to 4 pt thick are expanded into two rings that look like one line; paper wider than that may be meant as a frame. */
const THICKEST_STROKE = mm(1.5);
/** Two cuts nearer than this are one line drawn twice: no cutter keeps paper between them (common practice, no source). */
const NEARLY_EQUAL = mm(0.2);
/** How far a ring's box may lie inside the other's: at the tip of a star a mitre reaches some widths out. */
const MITRE = mm(6);

/**
 * Two cutting lines that were one in the designer's mind: a stroke turned into its outline (two rings at the line's own width,
 * one inside the other), or a line drawn twice, not quite at one place. Lines on each other to the last hundredth are
 * `line-doubled`.
 */
export const cutsNearlyEqual: Check = ({ lines }, report) => {
  const cuts = lines.filter((line) => line.operation === "cutting");
  for (const [i, o] of nearlyBoxed(cuts, 2 * NEARLY_EQUAL, MITRE)) {
    const [inner, outer] = [cuts[i], cuts[o]];
    if (!inner || !outer) continue;
    const there = alongside(inner, outer, THICKEST_STROKE, (apart) => Math.max(ON, 0.08 * apart));
    if (!there || there.apart <= ON) continue;
    const back = alongside(outer, inner, THICKEST_STROKE * 2, (apart) => Math.max(ON, 0.08 * apart));
    if (!back) continue;
    const where = { operation: "cutting", at: placeOf(there.at) } as const;
    const even = mostOfIt(there) && mostOfIt(back) && Math.abs(there.apart - back.apart) <= 0.1 * there.apart + ON;
    if (even && inner.closed && outer.closed && isNested(inner, outer, there.apart / 2))
      report.say("cut-expanded-stroke", { width: toMm(there.apart) }, where);
    else if (there.apart <= NEARLY_EQUAL && back.apart <= NEARLY_EQUAL)
      report.say("cuts-nearly-equal", { apart: toMm(there.apart) }, where);
  }
};

/** Two rings of one stroke lie one inside the other; of a line drawn twice each sticks out somewhere. */
const isNested = (inner: Line, outer: Line, by: Um): boolean =>
  containsRect(inset(bounds(outer.points), Math.floor(by)), bounds(inner.points));
