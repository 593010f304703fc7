import { type FitCheck, grainKnown, neededTurns, turnsOn } from "./fit-check.ts";

/** On at least one sheet of the stock an allowed turn brings the grain where it must run. */
export const grain: FitCheck = (piece, stock, report) => {
  if (!piece.grain) return;
  const sheets = stock.sheets.filter((sheet) => grainKnown(stock, sheet));
  if (!stock.grain || sheets.length === 0)
    return report.say(
      "grain-of-stock-unknown",
      { stock: stock.stock, square: stock.grain !== undefined },
      { stock: stock.stock },
    );
  const stockGrain = stock.grain;
  const pieceGrain = piece.grain;
  if (piece.turns === "any" || stock.sheets.some((sheet) => turnsOn(piece, stock, sheet).length > 0)) return;
  const needed = [...new Set(sheets.flatMap((sheet) => neededTurns(pieceGrain, stockGrain, sheet)))];
  report.say("grain-forbids-all-turns", { grain: pieceGrain, turns: piece.turns, needed }, { stock: stock.stock });
};
