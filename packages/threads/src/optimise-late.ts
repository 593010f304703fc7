import { setFlagsFromString } from "node:v8";

/** Bytecode that a function runs before V8 optimises it; V8's own figure is about 67,000. */
const BUDGET = 300_000;
/** The only Node whose V8 has the flag: 22.23 and 24.21, tried, complain of it on standard error and optimise in cheaper steps anyway. */
const KNOWN = 20;

/**
 * Tells this process, and the threads that it starts, to optimise functions later. A process that lives for seconds spent a
 * third of its processor time on compiling functions that it hardly called again. For a long job it is a delay of milliseconds.
 */
export const optimiseLate = (): void => {
  if (Number.parseInt(process.versions.node, 10) === KNOWN) setFlagsFromString(`--interrupt-budget=${BUDGET}`);
};
