import type { FitCheck } from "./fit-check.ts";

/** Nothing is printed on stock without a press: artwork is left out, a text that was ordered cannot be. */
export const printOnUnprinted: FitCheck = ({ artwork, slots }, { press, stock }, told) => {
  if (press) return;
  if (artwork) told.say("artwork-on-unprinted-stock", { stock }, { stock });
  if (slots.length > 0) told.say("slot-on-unprinted-stock", { stock }, { stock });
};
