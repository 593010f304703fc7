import { mm } from "@kitforme/geometry";
import { type Operation, OPERATIONS } from "@kitforme/kit";
import { pt } from "../pdf/content.ts";
import { dashOf } from "./dash.ts";
import type { Paper } from "./paper.ts";

/** Those of these operations that are there, cuts first: the legend of what is shown, and of nothing else. */
export const usedOf = (operations: Iterable<Operation>): Operation[] => {
  const used = new Set(operations);
  return [...OPERATIONS].reverse().filter((operation) => used.has(operation));
};

/** One line of a legend with its words behind it, the baseline at y; the cursor stays. */
export const drawLegendLine = (
  paper: Paper,
  operation: Operation,
  words: string,
  at: { readonly x: number; readonly y: number; readonly size: number },
): void => {
  const [from, to, up] = [pt(at.x), pt(at.x + mm(14)), pt(paper.up(at.y - mm(1)))];
  paper.draw(`q ${dashOf(operation)} 0.6 w 0.3 G ${from} ${up} m ${to} ${up} l S Q`);
  paper.line(words, at.x + mm(16), at.y, at.size);
};
