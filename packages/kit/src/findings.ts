// A door for rooms that make findings and read no form: without the libraries that judge shops, kits and orders.
export { inFigures, quoted } from "./numbers.ts";
export * from "./problem.ts";
export { say } from "./say.ts";
export { namesTool } from "./tool-words.ts";
export { composed } from "./words/composed.ts";
export * from "./words/sentence.ts";
