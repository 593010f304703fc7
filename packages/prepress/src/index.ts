export * from "./prepared.ts";
