// A door of its own: an estimate needs no library of PDFs.
export * from "./estimate-json.ts";
export * from "./estimate-of.ts";
export * from "./share-out.ts";
