import type { Check } from "./check.ts";
import { contourCrossesItself } from "./contour-crosses-itself.ts";
import { contourOpen } from "./contour-open.ts";
import { contourTiny } from "./contour-tiny.ts";
import { contoursCross } from "./contours-cross.ts";
import { cutDashed } from "./cut-dashed.ts";
import { cutsNearlyEqual } from "./cuts-nearly-equal.ts";
import { dieLinePrints } from "./die-line-prints.ts";
import { lineOutside } from "./line-outside.ts";
import { lineUnseen } from "./line-unseen.ts";
import { openingOutside } from "./opening-outside.ts";
import { outlineMissing } from "./outline-missing.ts";
import { slotOutside } from "./slot-outside.ts";
import { slotTooNear } from "./slot-too-near.ts";

/** What every piece is asked, in this order. */
export const PIECE_CHECKS: readonly Check[] = [
  contourOpen,
  contourCrossesItself,
  contoursCross,
  cutsNearlyEqual,
  cutDashed,
  lineUnseen,
  dieLinePrints,
  contourTiny,
  openingOutside,
  lineOutside,
  slotOutside,
  slotTooNear,
  outlineMissing,
];
