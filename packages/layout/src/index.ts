export * from "./footprint.ts";
