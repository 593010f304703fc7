export { makeBleed } from "./bleed.ts";
export { BleedCache } from "./cache.ts";
export type { BleedMade, BleedRequest, PixelGrid, Tile } from "./request.ts";
export { type PieceTolerance, statementOf, type ToleranceRequest, type ToleranceStatement } from "./tolerance.ts";
export { fillBand } from "./fill.ts";
