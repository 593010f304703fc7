import { sharp, type Sharp, type SharpOptions } from "../sharp.ts";

/** Pixels of a picture that we open: an SRA3 sheet at 600 ppi has 80 million, and four channels of this many are 400 MB. */
export const MOST_PIXELS = 100_000_000;

// A cache would only keep earlier customers' pictures in memory: every picture is read once.
sharp.cache(false);

/**
 * Opens customer bytes with our limits. Damage fails the decode instead of giving half a picture; mere warnings (unknown
 * TIFF tags) do not: what of them is damage, `damageOf` finds.
 */
export const openImage = (bytes: Uint8Array, options: SharpOptions = {}): Sharp =>
  sharp(bytes, { limitInputPixels: MOST_PIXELS, failOn: "error", ...options });

/** Lines thinner than this break or vanish, micrometres: 0.1 mm, less what 0.1 mm loses when it is written in points. */
export const THIN = 99.5;
