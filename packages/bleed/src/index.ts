export { makeBleed } from "./bleed.ts";
export { BleedCache } from "./cache.ts";
export type { BleedMade, BleedRequest, BlankRim, PixelGrid, Tile } from "./request.ts";
export { fillBand } from "./fill.ts";
// The engine's parts, for benches and tests: exact search, plain and fast, and its sets of pixels.
export { nearest, nearestPlain } from "./nearest-map.ts";
export { rasterise } from "./raster.ts";
export type { NearestMap, NearestRequest } from "./request-nearest.ts";
export { has as hasPixel, minus as minusRuns, type Runs } from "./runs.ts";
