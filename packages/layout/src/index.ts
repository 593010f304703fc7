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
