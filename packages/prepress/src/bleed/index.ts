export { makeBleed } from "./bleed.ts";
export { BleedCache } from "./cache.ts";
export type { BleedMade, BleedRequest, PixelGrid, Tile } from "./request.ts";
