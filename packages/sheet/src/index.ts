export * from "./field.ts";
export * from "./impose.ts";
export { marksOf, type SheetSize } from "./marks.ts";
export { sequence } from "./sequence.ts";
export * from "./sheet-faults.ts";
export * from "./sheet.ts";
export * from "./verify-sheet.ts";
