import { setFlagsFromString } from "node:v8";

/** Bytecode that a function runs before V8 optimises it; V8's own figure is about 67,000. */
const BUDGET = 300_000;
/** The only Node whose V8 has the flag: 22.23 and 24.21, tried, complain of it on standard error and optimise in cheaper steps anyway. */
const KNOWN = 20;
/**
 * About as many bytes that a function of WebAssembly runs before V8 optimises it: some 50 ms of work. V8's own figure, 1.8
 * million in Node 20 and 13 million in 22 and 24 (all three tried), is 1 to 10 ms: less than optimising the function takes.
 */
const WASM_BUDGET = 100_000_000;
/** The last Node that is known to have that flag. */
const LAST_KNOWN = 24;

/**
 * Tells this process, and the threads that it starts, to optimise functions later. A process that lives for seconds spent a
 * third of its processor time on compiling functions that it hardly called again. For a long job it is a delay of milliseconds.
 */
export const optimiseLate = (): void => {
  const node = Number.parseInt(process.versions.node, 10);
  if (node === KNOWN) setFlagsFromString(`--interrupt-budget=${BUDGET}`);
  if (node <= LAST_KNOWN) setFlagsFromString(`--wasm-tiering-budget=${WASM_BUDGET}`);
};
