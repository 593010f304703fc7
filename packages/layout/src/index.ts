export * from "./footprint.ts";
export { pack } from "./placing/pack.ts";
export { packOne } from "./placing/pack-one.ts";
export type { Leftover, Packed, PackItem, PackProgress, PackRequest } from "./placing/packed.ts";
export { breachesOf, type Placed, verifyForme } from "./verify.ts";
export * from "./gang.ts";
export { layStrip, type StripRequest, type StripResult } from "./placing/strip.ts";
