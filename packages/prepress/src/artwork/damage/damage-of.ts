import { Broken, type Damage } from "./damage.ts";
import { checkJpeg } from "./check-jpeg.ts";
import { checkPng } from "./check-png.ts";
import { checkProfile } from "./check-profile.ts";
import { checkTiff } from "./check-tiff.ts";

const CHECKS: Readonly<Record<string, (bytes: Uint8Array) => void>> = {
  jpeg: checkJpeg,
  png: checkPng,
  tiff: checkTiff,
};

/**
 * Reads a picture file to its end by its format's own rules and says what is damaged; undefined when nothing is.
 *
 * Decoders are made to show something: libjpeg fills what it cannot read with grey, libpng passes over wrong check sums of
 * side chunks, libtiff takes strips that unpack to too few rows. What can be told from a picture is told here:
 *
 * | format | held against                                                                                    |
 * | ------ | ----------------------------------------------------------------------------------------------- |
 * | JPEG   | every code of every scan, 64 coefficients a block, the range of values, restarts, no byte left  |
 * | PNG    | CRC of every chunk, Adler of the pixels, number of rows and their filters                       |
 * | TIFF   | order of tags, number and place of strips, Adler of deflated ones, exact length of unpacked ones |
 *
 * What cannot: a bit in the size of a JPEG coefficient, in a quantisation table or profile, in the samples of an unpacked TIFF.
 *
 * @param format as sharp names it; other formats are left to their decoders
 */
export const damageOf = (format: string, bytes: Uint8Array): Damage | undefined =>
  damageBy(CHECKS[format] ?? (() => {}), bytes);

/** What is damaged of an ICC profile; undefined when nothing is. */
export const profileDamage = (bytes: Uint8Array): Damage | undefined => damageBy(checkProfile, bytes);

const damageBy = (check: (bytes: Uint8Array) => void, bytes: Uint8Array): Damage | undefined => {
  try {
    check(bytes);
    return undefined;
  } catch (error) {
    if (error instanceof Broken) return { what: error.message, ...(error.at === undefined ? {} : { at: error.at }) };
    // Reading beyond the end of a view: the file is shorter than it says.
    if (error instanceof RangeError) return { what: "it ends before its time" };
    throw error;
  }
};
