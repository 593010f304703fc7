import type { FitCheck } from "./fit-check.ts";

/**
 * A cut that is filled with a colour, on printed stock: lines are never printed, so the fill is not. Where nothing else prints
 * the piece is blank. A fill on unprinted stock is how the designer saw the board, and nothing is lost.
 */
export const fillLost: FitCheck = ({ drawnAs, artwork }, { press, stock }, report) => {
  if (!press || artwork?.kind === "file") return;
  for (const { element, paint, operation, at } of drawnAs?.filled ?? [])
    report.say("fill-lost", { element, paint, blank: artwork === null }, { stock, operation, at });
};
