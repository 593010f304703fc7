import { type FitCheck, neededTurns, turnsOn } from "./fit-check.ts";

/** On at least one sheet of the stock an allowed turn brings the grain where it must run. */
export const grain: FitCheck = (piece, stock, told) => {
  if (!piece.grain) return;
  if (!stock.grain) return told.say("grain-of-stock-unknown", { stock: stock.stock }, { stock: stock.stock });
  const stockGrain = stock.grain;
  const pieceGrain = piece.grain;
  if (piece.turns === "any" || stock.sheets.some((sheet) => turnsOn(piece, stock, sheet).length > 0)) return;
  const needed = [...new Set(stock.sheets.flatMap((sheet) => neededTurns(pieceGrain, stockGrain, sheet)))];
  told.say("grain-forbids-all-turns", { grain: pieceGrain, turns: piece.turns, needed }, { stock: stock.stock });
};
