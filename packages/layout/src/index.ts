export * from "./footprint.ts";
export {
  type Leftover,
  pack,
  type Packed,
  type PackItem,
  packOne,
  type PackProgress,
  type PackRequest,
} from "./placing/pack.ts";
export { breachesOf, type Placed, verifyForme } from "./verify.ts";
export * from "./gang.ts";
export { layStrip, type StripRequest, type StripResult } from "./placing/strip.ts";
