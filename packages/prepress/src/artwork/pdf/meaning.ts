import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import { calibratedProfile } from "../../colour/calibrated-profile.ts";
import { convert, type Space } from "../../colour/engine.ts";
import { limitInks } from "../../colour/limit-inks.ts";
import { inkLimitOf, outputProfile, type PressColour, srgb } from "../../colour/profile.ts";
import { unpacked } from "./unpack.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** A profile longer than this is none. */
const MOST = 2 ** 26;
const UNIT = [0, 1] as const;

/** What the three values of a colour space of light mean: an RGB profile, or Lab. */
export interface Meaning {
  readonly space: Space;
  /** Lowest and highest value of each. */
  readonly bounds: readonly (readonly [low: number, high: number])[];
}

/** Asks for the meaning of a space; undefined for one that is not of RGB or Lab. */
export type Meanings = (space: PDFObject | undefined) => Promise<Meaning | "unreadable" | undefined>;

/** Meanings for one press, each profile tried once: "unreadable" where a profile is damaged or a space is not written as it should be. */
export const meaningsOn = (press: PressColour): Meanings => {
  const known = new Map<PDFObject, Meaning | "unreadable">();
  const target = outputProfile(press)?.bytes;
  return async (space) => {
    const before = space && known.get(space);
    if (!space || before) return before;
    const found = meaningOf(space);
    if (found === undefined) return undefined;
    const tried = found === "unreadable" || !target || (await usable(found, target)) ? found : "unreadable";
    known.set(space, tried);
    return tried;
  };
};

const usable = async ({ space }: Meaning, target: Uint8Array): Promise<boolean> => {
  try {
    await convert(new Uint8Array(3), space, target, "perceptual");
    return true;
  } catch {
    return false;
  }
};

const meaningOf = (space: PDFObject | undefined): Meaning | "unreadable" | undefined => {
  const kind = space instanceof PDFArray && space.size() > 0 ? space.lookup(0) : space;
  if (kind === name("DeviceRGB") || kind === name("RGB")) return rgb(srgb().bytes);
  if (!(space instanceof PDFArray)) return undefined;
  if (kind === name("ICCBased")) {
    const stream = space.lookup(1);
    if (!(stream instanceof PDFRawStream)) return "unreadable";
    if (stream.dict.lookup(name("N"))?.toString() !== "3") return undefined;
    const { bytes, left } = unpacked(stream, MOST);
    return left === undefined && Buffer.from(bytes.subarray(16, 20)).toString("latin1") === "RGB "
      ? rgb(bytes)
      : "unreadable";
  }
  if (kind !== name("CalRGB") && kind !== name("Lab")) return undefined;
  const dict = space.lookup(1);
  const white = dict instanceof PDFDict ? numbersIn(dict, "WhitePoint", 3) : undefined;
  if (!(dict instanceof PDFDict) || !white?.every((value) => value > 0)) return "unreadable";
  if (kind === name("CalRGB")) {
    const gamma = numbersIn(dict, "Gamma", 3, [1, 1, 1]);
    const matrix = numbersIn(dict, "Matrix", 9, [1, 0, 0, 0, 1, 0, 0, 0, 1]);
    return gamma?.every((one) => one > 0) && matrix ? rgb(calibratedProfile({ white, gamma, matrix })) : "unreadable";
  }
  const range = numbersIn(dict, "Range", 4, [-100, 100, -100, 100]);
  if (!range) return "unreadable";
  const [a0, a1, b0, b1] = range as [number, number, number, number];
  const bounds = [
    [0, 100],
    [a0, a1],
    [b0, b1],
  ] as const;
  return a1 > a0 && b1 > b0 ? { space: "lab", bounds } : "unreadable";
};

const rgb = (space: Uint8Array): Meaning => ({ space, bounds: [UNIT, UNIT, UNIT] });

/** An array of numbers, `otherwise` where there is none; undefined for one of another kind. */
const numbersIn = (
  dict: PDFDict,
  key: string,
  count: number,
  otherwise?: readonly number[],
): readonly number[] | undefined => {
  const array = dict.lookup(name(key));
  if (array === undefined) return otherwise;
  if (!(array instanceof PDFArray) || array.size() !== count) return undefined;
  const values = array.asArray().map((_, i) => {
    const one = array.lookup(i);
    return one instanceof PDFNumber ? one.asNumber() : Number.NaN;
  });
  return values.every(Number.isFinite) && values.every((value) => Math.abs(value) < 30_000) ? values : undefined;
};

/** Colours as shares of the range of their space, three each, one after the other. */
export const sharesOf = ({ bounds }: Meaning, values: readonly (readonly number[])[]): Float64Array =>
  Float64Array.from(
    values.flatMap((three) =>
      bounds.map(([low, high], i) => (Math.min(high, Math.max(low, three[i] as number)) - low) / (high - low)),
    ),
  );

/**
 * Colours as inks within the press's limit: four bytes each.
 *
 * @param shares three a colour, from 0 to 1 over the range of the space; bytes over 255 as pictures hold them
 * @param pureBlack black becomes black ink alone
 */
export const inksOfLight = async (
  { space, bounds }: Meaning,
  shares: Float64Array | Uint8Array,
  press: PressColour,
  { pureBlack = false } = {},
): Promise<Uint8Array> => {
  const lab = space === "lab";
  let values: Uint8Array | Uint16Array;
  if (!lab && shares instanceof Uint8Array) values = shares;
  else {
    const full = shares instanceof Uint8Array ? 255 : 1;
    values = new Uint16Array(shares.length);
    for (let at = 0; at < values.length; at++) {
      const share = (shares[at] as number) / full;
      const [low, high] = bounds[at % 3] as readonly [number, number];
      const value = low + share * (high - low);
      // L* from 0 to 100 and a* and b* from -128 to 127 over 16 bits (ICC.1:2010, 6.3.4.2).
      const within = !lab ? value : at % 3 === 0 ? value / 100 : (value + 128) / 255;
      values[at] = Math.round(Math.min(1, Math.max(0, within)) * 65_535);
    }
  }
  const profile = outputProfile(press)?.bytes as Uint8Array;
  const inks = await convert(values, space, profile, press.intent ?? "perceptual");
  limitInks(inks, inkLimitOf(press));
  if (pureBlack)
    for (let at = 0, ink = 0; ink < inks.length; at += 3, ink += 4)
      if (values[at] === 0 && (lab || (values[at + 1] === 0 && values[at + 2] === 0))) inks.set([0, 0, 0, 255], ink);
  return inks;
};
