export * from "./assembly/write-assembly.ts";
export * from "./bench-page/write-bench-page.ts";
export * from "./estimate/estimate-json.ts";
export * from "./estimate/estimate-of.ts";
export * from "./estimate/share-out.ts";
export * from "./slips/write-slips.ts";
export * from "./ticket/write-ticket.ts";
