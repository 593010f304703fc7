// Pictures of a page that are RGB, in the inks of a CMYK press: a RIP would convert them by an intent of its own and past the
// press's ink limit.
import {
  PDFArray,
  type PDFContext,
  PDFDict,
  PDFHexString,
  PDFName,
  PDFNumber,
  type PDFObject,
  PDFRawStream,
  PDFString,
} from "pdf-lib";
import type { PressColour } from "../../colour/profile.ts";
import { samplesToPress } from "../../colour/to-press.ts";
import { openImage } from "../limits.ts";
import { packed } from "./pack.ts";
import { unpacked } from "./unpack.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Bytes that a picture may unpack to. */
const MOST = 2 ** 29;

/** What an RGB space's values mean: the bytes of a profile, `undefined` for sRGB; `null` for a space that is not RGB. */
export const rgbOf = (space: PDFObject | undefined): Uint8Array | undefined | null => {
  if (space === name("DeviceRGB")) return undefined;
  if (!(space instanceof PDFArray) || space.size() === 0) return null;
  const kind = space.lookup(0);
  if (kind === name("DeviceRGB")) return undefined;
  const profile = kind === name("ICCBased") ? space.lookup(1) : undefined;
  const three = profile instanceof PDFRawStream && profile.dict.lookup(name("N"))?.toString() === "3";
  if (!three) return null;
  const { bytes } = unpacked(profile, MOST);
  return Buffer.from(bytes.subarray(16, 20)).toString("latin1") === "RGB " ? bytes : null;
};

const numberIn = (dict: PDFDict, key: string): number => {
  const value = dict.lookup(name(key));
  return value instanceof PDFNumber ? value.asNumber() : 0;
};

/**
 * Puts the inks of RGB pictures in place of them, those of indexed ones into their palettes. Pictures of other depths than 8
 * bits, with a colour for a mask or a curve of their own stay as they are.
 */
export const inkPictures = async (context: PDFContext, press: PressColour): Promise<void> => {
  for (const [ref, object] of context.enumerateIndirectObjects()) {
    if (!(object instanceof PDFRawStream) || object.dict.lookup(name("Subtype")) !== name("Image")) continue;
    const { dict } = object;
    const mask = dict.lookup(name("SMask"));
    if (dict.lookup(name("Mask")) instanceof PDFArray || dict.has(name("Decode"))) continue;
    if (mask instanceof PDFRawStream && mask.dict.has(name("Matte"))) continue;
    const space = dict.lookup(name("ColorSpace"));
    const palette = await inkedPalette(context, space, press);
    if (palette) {
      dict.set(name("ColorSpace"), palette);
      continue;
    }
    const profile = rgbOf(space);
    if (profile === null) continue;
    const inked = await inkedPicture(context, object, profile, press);
    if (inked) context.assign(ref, inked);
  }
};

const inkedPicture = async (
  context: PDFContext,
  stream: PDFRawStream,
  profile: Uint8Array | undefined,
  press: PressColour,
): Promise<PDFRawStream | undefined> => {
  const { dict } = stream;
  const [width, height] = [numberIn(dict, "Width"), numberIn(dict, "Height")];
  const { bytes, left } = unpacked(stream, MOST);
  let data: Uint8Array;
  if (left === "DCTDecode" || left === "DCT") {
    const image = openImage(bytes, { ignoreIcc: true }).toColourspace("srgb").raw();
    const decoded = await image.toBuffer({ resolveWithObject: true });
    if (decoded.info.width !== width || decoded.info.height !== height || decoded.info.channels !== 3) return undefined;
    data = decoded.data;
  } else if (left === undefined && numberIn(dict, "BitsPerComponent") === 8)
    data = bytes.subarray(0, 3 * width * height);
  else return undefined;
  if (data.length !== 3 * width * height) return undefined;
  const inks = await samplesToPress({ width, height, space: "rgb", alpha: false, data }, press, { profile });
  const made = await packed(context, inks.data, {});
  for (const [key, value] of dict.entries())
    if (!["/Filter", "/DecodeParms", "/Length", "/ColorSpace", "/BitsPerComponent"].includes(key.toString()))
      made.dict.set(key, value);
  made.dict.set(name("ColorSpace"), name("DeviceCMYK"));
  made.dict.set(name("BitsPerComponent"), context.obj(8));
  return made;
};

/** An indexed space over RGB as one over CMYK. */
const inkedPalette = async (
  context: PDFContext,
  space: PDFObject | undefined,
  press: PressColour,
): Promise<PDFArray | undefined> => {
  if (!(space instanceof PDFArray) || space.size() !== 4 || space.lookup(0) !== name("Indexed")) return undefined;
  const profile = rgbOf(space.lookup(1));
  if (profile === null) return undefined;
  const table = space.lookup(3);
  const data =
    table instanceof PDFRawStream
      ? unpacked(table, MOST).bytes
      : table instanceof PDFHexString || table instanceof PDFString
        ? table.asBytes()
        : undefined;
  const colours = data ? Math.floor(data.length / 3) : 0;
  if (!data || colours === 0) return undefined;
  const rgb = { width: colours, height: 1, space: "rgb", alpha: false, data: data.slice(0, 3 * colours) } as const;
  const inks = await samplesToPress(rgb, press, { profile });
  const hex = Buffer.from(inks.data).toString("hex");
  return context.obj([name("Indexed"), name("DeviceCMYK"), space.get(2), PDFHexString.of(hex)]) as PDFArray;
};
