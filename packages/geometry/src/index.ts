export * from "./length.ts";
export * from "./point.ts";
export * from "./transform.ts";
