import { cornersNear } from "./corners-near.ts";
import { creaseNear } from "./crease-near.ts";
import { fillLost } from "./fill-lost.ts";
import type { FitCheck } from "./fit-check.ts";
import { grain } from "./grain.ts";
import { openingCloses } from "./opening-closes.ts";
import { openingSmall } from "./opening-small.ts";
import { paperBesideSlits } from "./paper-beside-slits.ts";
import { paperThin } from "./paper-thin.ts";
import { pieceTooLarge } from "./piece-too-large.ts";
import { printOnUnprinted } from "./print-on-unprinted.ts";
import { toolMissing } from "./tool-missing.ts";

/** What every piece is asked together with its stock, in this order. */
export const FIT_CHECKS: readonly FitCheck[] = [
  printOnUnprinted,
  fillLost,
  toolMissing,
  grain,
  pieceTooLarge,
  openingCloses,
  openingSmall,
  cornersNear,
  paperThin,
  paperBesideSlits,
  creaseNear,
];
