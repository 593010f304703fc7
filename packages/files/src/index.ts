export * from "./cautions.ts";
export * from "./cut/index.ts";
export * from "./docket.ts";
export * from "./job.ts";
export * from "./manifest.ts";
export * from "./print.ts";
export * from "./proof.ts";
