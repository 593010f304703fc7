export * from "./prepared.ts";
export * from "./artwork/encode-png.ts";
export * from "./artwork/overlay.ts";
export * from "./artwork/render-page.ts";
export * from "./colour/ink.ts";
export * from "./colour/profile.ts";
export type { Weight } from "./text/bundled.ts";
export * from "./text/set-line.ts";
export * from "./text/set-text.ts";
