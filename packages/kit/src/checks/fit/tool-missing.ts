import { OPERATIONS } from "../../kit.ts";
import type { FitCheck } from "./fit-check.ts";

/** Every operation of the piece has a tool on the stock's cutter, or a dash that makes it with the cutting tool. */
export const toolMissing: FitCheck = ({ lines }, { cutter }, report) => {
  for (const operation of OPERATIONS)
    if (
      !cutter.tools[operation] &&
      !(cutter.path.dash[operation] && cutter.tools.cutting) &&
      lines.some((l) => l.operation === operation)
    )
      report.say("tool-missing", { operation, cutter: cutter.name }, { operation });
};
