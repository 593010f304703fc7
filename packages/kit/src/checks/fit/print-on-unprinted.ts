import type { FitCheck } from "./fit-check.ts";

/** Nothing is printed on stock without a press. What a drawing has left over may be notes to the maker; a picture or a text that was asked for is a mistake. */
export const printOnUnprinted: FitCheck = ({ artwork, back, slots: all }, { press, stock }, report) => {
  if (back && press?.sides !== 2)
    report.say("back-not-printed", { stock, press: press?.name ?? null }, { stock, side: "back" });
  if (press) return;
  const slots = all.filter(({ side }) => side !== "back");
  if (artwork) report.say("artwork-on-unprinted-stock", { stock, file: artwork.kind === "file" }, { stock });
  if (slots.length > 0) report.say("slot-on-unprinted-stock", { stock }, { stock });
};
