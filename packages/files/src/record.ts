// A door for what is only counted and said of a job: no library of PDFs, pictures or colours behind it.
export * from "./cautions.ts";
export { inkOfSheet, type SheetInk } from "./ink-of-sheet.ts";
export * from "./job.ts";
export * from "./manifest.ts";
