// Colours of TIFF files that the decoder takes for others without a word: samples of YCbCr for RGB, channels beside the colours
// for transparency or for inks (TIFF 6.0, sections 8, 16, 20 to 23).
import { tagsOf } from "./damage/check-tiff.ts";

/** Samples that the colours of a picture take, by its tag 262. */
const COLOURS: Readonly<Record<number, number>> = { 0: 1, 1: 1, 2: 3, 3: 1, 5: 4, 6: 3 };
const NAMES: Readonly<Record<number, string>> = { 6: "YCbCr", 8: "Lab", 9: "Lab", 10: "Lab" };
const [YCBCR, SEPARATED] = [6, 5];
/** Kinds of packing that bring colours of their own: JPEG in its old and its new form. */
const JPEG = [6, 7];
/** Tag 338: an extra sample that is transparency, multiplied in or not. */
const TRANSPARENCY = [1, 2];

export interface Strange {
  readonly what: string;
  readonly remedy: string;
}

/** Why the colours of a TIFF would be read wrong; undefined where they are read right, and for everything that is no whole TIFF. */
export const strangeColours = (bytes: Uint8Array): Strange | undefined => {
  let tags: ReturnType<typeof tagsOf>;
  try {
    tags = tagsOf(bytes);
  } catch {
    // No TIFF, or a damaged one: that is said by whoever opens it.
    return undefined;
  }
  const one = (tag: number, otherwise: number): number => tags.get(tag)?.values[0] ?? otherwise;
  const kind = one(262, -1);
  const name = NAMES[kind];
  if (name !== undefined && !(kind === YCBCR && JPEG.includes(one(259, 1))))
    return { what: `its colours are ${name}, which is not read here`, remedy: "Export it in RGB or CMYK" };
  if (kind === SEPARATED && one(332, 1) !== 1)
    return { what: "its inks are others than cyan, magenta, yellow and black", remedy: "Export it in CMYK" };
  const colours = COLOURS[kind];
  const beside = one(277, 1) - (colours ?? 0);
  if (colours === undefined || beside <= 0) return undefined;
  if (beside === 1 && TRANSPARENCY.includes(one(338, 0))) return undefined;
  return {
    what:
      beside === 1
        ? "it has a channel beside its colours that is not declared to be transparency"
        : `it has ${beside} channels beside its colours; one, of transparency, is read`,
    remedy: "Delete saved selections and spot channels in it, or flatten it, and export it again",
  };
};
