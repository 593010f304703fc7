export * from "./cut/index.ts";
export * from "./print.ts";
