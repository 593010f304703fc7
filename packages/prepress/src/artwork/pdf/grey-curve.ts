import { PDFArray, PDFDict, PDFName, PDFNumber, type PDFObject, PDFRawStream } from "../../pdf-lib.ts";
import { unpacked } from "./unpack.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** A profile of one curve is far shorter. */
const MOST = 2 ** 22;

/**
 * How light the middle of a grey space of its own is: L* of the value 0.5, from 0 to 100 (CalGray: ISO 32000, 8.6.5.2; a profile by the
 * curve of its grey, ICC.1:2010, 8.4.2, 10.5 and 10.15). Undefined where that cannot be read.
 */
export const middleOfGrey = (space: PDFObject | undefined): number | undefined => {
  if (!(space instanceof PDFArray)) return undefined;
  const about = space.lookup(1);
  if (space.lookup(0) === name("CalGray")) {
    const gamma = about instanceof PDFDict ? about.lookup(name("Gamma")) : undefined;
    return lightness(0.5 ** (gamma instanceof PDFNumber ? gamma.asNumber() : 1));
  }
  if (!(about instanceof PDFRawStream)) return undefined;
  const profile = Buffer.from(unpacked(about, MOST).bytes);
  try {
    const middle = curveAtHalf(profile);
    if (middle === undefined) return undefined;
    return profile.toString("latin1", 20, 24) === "Lab " ? 100 * middle : lightness(middle);
  } catch {
    // It ends within a tag.
    return undefined;
  }
};

const curveAtHalf = (profile: Buffer): number | undefined => {
  const count = Math.min(100, profile.readUInt32BE(128));
  const at = Array.from({ length: count }, (_, i) => 132 + 12 * i).find(
    (entry) => profile.toString("latin1", entry, entry + 4) === "kTRC",
  );
  if (at === undefined) return undefined;
  const tag = profile.readUInt32BE(at + 4);
  const kind = profile.toString("latin1", tag, tag + 4);
  if (kind === "curv") {
    const points = profile.readUInt32BE(tag + 8);
    if (points === 0) return 0.5;
    if (points === 1) return 0.5 ** (profile.readUInt16BE(tag + 12) / 256);
    const value = (i: number): number => profile.readUInt16BE(tag + 12 + 2 * i) / 65_535;
    return (value(Math.floor((points - 1) / 2)) + value(Math.ceil((points - 1) / 2))) / 2;
  }
  if (kind !== "para") return undefined;
  const number = (i: number): number => profile.readInt32BE(tag + 12 + 4 * i) / 65_536;
  const [form, gamma] = [profile.readUInt16BE(tag + 8), number(0)];
  if (form === 0) return 0.5 ** gamma;
  // All other forms are (a x + b) ^ gamma, and some add a constant: c in the second, e in the fourth. The middle is above their foot.
  const more = form === 2 ? number(3) : form === 4 ? number(5) : 0;
  return form <= 4 ? (number(1) * 0.5 + number(2)) ** gamma + more : undefined;
};

/** CIE L* of a luminance from 0 to 1. */
const lightness = (y: number): number => (y > 216 / 24_389 ? 116 * Math.cbrt(y) - 16 : (24_389 / 27) * y);
