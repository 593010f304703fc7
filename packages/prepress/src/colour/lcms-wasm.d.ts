// The part of lcms-wasm that we use; the package has no types. Names are those of LittleCMS.
declare module "lcms-wasm" {
  interface LittleCms {
    readonly cmsOpenProfileFromMem: (bytes: Uint8Array, length: number) => number;
    readonly cmsCreateLab4Profile: (whitePoint?: readonly number[]) => number;
    readonly cmsCloseProfile: (profile: number) => void;
    readonly cmsCreateTransform: (
      from: number,
      fromFormat: number,
      to: number,
      toFormat: number,
      intent: number,
      flags: number,
    ) => number;
    readonly cmsDeleteTransform: (transform: number) => void;
    readonly cmsDoTransform: (transform: number, values: Uint8Array | Uint16Array, pixels: number) => Uint8Array;
  }
  export const instantiate: () => Promise<LittleCms>;
  export const TYPE_RGB_8: number;
  export const TYPE_CMYK_8: number;
  export const TYPE_GRAY_8: number;
  export const TYPE_RGB_16: number;
  export const TYPE_Lab_8: number;
  export const TYPE_Lab_16: number;
  export const INTENT_PERCEPTUAL: number;
  export const INTENT_RELATIVE_COLORIMETRIC: number;
  export const INTENT_SATURATION: number;
  export const cmsFLAGS_BLACKPOINTCOMPENSATION: number;
  export const cmsFLAGS_NOCACHE: number;
}
