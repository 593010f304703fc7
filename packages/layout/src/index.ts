export {
  breachesOf,
  type Effort,
  type Field,
  type Footprint,
  type Packed,
  packOne,
  type Placed,
  verifyForme,
} from "@kitforme/nest";
export * from "./footprint.ts";
export { gang } from "./gang.ts";
export { homeless } from "./homes-of.ts";
export { gangRectangles } from "./runs/gang-rectangles.ts";
export { type Cell, gather } from "./runs/gather.ts";
export { needOf, type Overs } from "./runs/need.ts";
export { planRuns, type RunsPlan, type RunsRequest } from "./runs/plan-runs.ts";
export type { PlacedRectangle, RectanglesPlan, RectanglesRequest } from "./runs/rectangles.ts";
export { yieldOf } from "./yield.ts";
