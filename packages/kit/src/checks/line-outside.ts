import { clipPaths, JOINED_WITHIN, lengthOf, toMm } from "@kitforme/geometry";
import type { Operation } from "../kit.ts";
import { placeOf } from "../numbers.ts";
import { type Check, farthest, pathOf } from "./check.ts";

const RULES = {
  creasing: "crease-outside",
  perforating: "perforation-outside",
  partialCutting: "partial-cut-outside",
} as const satisfies Partial<Record<Operation, string>>;

/** Creases, perforations and kiss cuts stay on the paper of the piece; they may end on its edge, give or take 0.1 mm. */
export const lineOutside: Check = ({ parts, lines }, report) => {
  if (parts.length === 0) return;
  for (const line of lines) {
    if (line.operation === "cutting") continue;
    const outside = clipPaths([pathOf(line)], parts, "outside");
    const { by, at } = farthest(outside, parts);
    if (by > JOINED_WITHIN && at)
      report.say(
        RULES[line.operation],
        { by: toMm(by), length: toMm(outside.reduce((sum, path) => sum + lengthOf(path), 0)) },
        { operation: line.operation, at: placeOf(at) },
      );
  }
};
