import { has } from "./oracle.ts";

/**
 * Whether a reader of other hands is on this machine. A test without its oracle is skipped, and says so; where all of them
 * are promised (KITFORME_ORACLES=all, as in CI) a missing one is an error.
 */
export const oracle = (command: string): boolean => {
  const here = has(command);
  if (!here && process.env["KITFORME_ORACLES"] === "all")
    throw new Error(`${command} is missing here, though all oracles are promised`);
  if (!here) process.stderr.write(`skipped: tests that read with ${command}, which this machine does not have\n`);
  return here;
};
