import { setFlagsFromString } from "node:v8";

/** Bytecode that a function runs before V8 optimises it; V8's own figure is about 67,000. */
const BUDGET = 300_000;
/** The last Node whose V8 is known to have the flag (20 measured, 22 and 24 from memory): another would complain on standard error. */
const LAST_KNOWN = 24;

/**
 * Tells this process, and the threads that it starts, to optimise functions later. A process that lives for seconds spent a
 * third of its processor time on compiling functions that it hardly called again. For a long job it is a delay of milliseconds.
 */
export const optimiseLate = (): void => {
  if (Number.parseInt(process.versions.node, 10) <= LAST_KNOWN) setFlagsFromString(`--interrupt-budget=${BUDGET}`);
};
