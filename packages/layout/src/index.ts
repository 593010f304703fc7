export * from "./footprint.ts";
export { gang } from "./gang.ts";
export { pack } from "./placing/pack.ts";
export { packOne } from "./placing/pack-one.ts";
export type { Leftover, Packed, PackItem, PackProgress, PackRequest } from "./placing/packed.ts";
export { layStrip, type StripRequest, type StripResult } from "./placing/strip.ts";
export {
  gangRectangles,
  type LaidRectangle,
  type RectanglesPlan,
  type RectanglesRequest,
} from "./runs/gang-rectangles.ts";
export { needOf, type Overs } from "./runs/need.ts";
export { planRuns, type RunsPlan, type RunsRequest } from "./runs/plan-runs.ts";
export { breachesOf, type Placed, verifyForme } from "./verify.ts";
