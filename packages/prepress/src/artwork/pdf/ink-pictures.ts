// Pictures of a page that are RGB or Lab, in the inks of a CMYK press: a RIP would convert them by an intent of its own and past
// the press's ink limit.
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
} from "../../pdf-lib.ts";
import type { PressColour } from "../../colour/profile.ts";
import { openImage } from "../limits.ts";
import { inksOfLight, type Meaning, type Meanings } from "./meaning.ts";
import { packed } from "./pack.ts";
import { unpacked } from "./unpack.ts";
import type { Walk } from "./walk.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Bytes that a picture may unpack to. */
const MOST = 2 ** 29;

/** What colours in a form of their own become, and why the page cannot keep some. */
export interface Inked {
  readonly apply: () => void;
  readonly reasons: readonly string[];
}

const numberIn = (dict: PDFDict, key: string): number => {
  const value = dict.lookup(name(key));
  return value instanceof PDFNumber ? value.asNumber() : 0;
};

/**
 * Plans the inks of the pictures of a page, and of those that its masks draw. Pictures of other depths than 8 bits, with a
 * colour for a mask or a curve of their own are reasons to raster; indexed ones go with their palettes: see ink-spaces.ts.
 */
export const inkPictures = async (walk: Walk, meanings: Meanings, press: PressColour): Promise<Inked> => {
  const { context } = walk;
  const own = new Set(walk.slots.map(({ owner }) => owner));
  const reasons = new Set<string>();
  const changes: (() => void)[] = [];
  for (const [ref, object] of context.enumerateIndirectObjects()) {
    if (!(object instanceof PDFRawStream) || object.dict.lookup(name("Subtype")) !== name("Image")) continue;
    const meaning = await meanings(object.dict.lookup(name("ColorSpace")));
    if (meaning === undefined) continue;
    const inked =
      meaning !== "unreadable" && plain(object.dict) && (await inkedPicture(context, object, meaning, press));
    if (inked) changes.push(() => context.assign(ref, inked));
    else if (own.has(object.dict)) reasons.add("an RGB or Lab picture of a kind that inks cannot replace");
  }
  return {
    apply: () => {
      for (const change of changes) change();
    },
    reasons: [...reasons],
  };
};

/** Nothing about a picture depends on its values before they are inks. */
const plain = (dict: PDFDict): boolean => {
  const mask = dict.lookup(name("SMask"));
  return (
    !(dict.lookup(name("Mask")) instanceof PDFArray) &&
    !dict.has(name("Decode")) &&
    !(mask instanceof PDFRawStream && mask.dict.has(name("Matte")))
  );
};

const inkedPicture = async (
  context: PDFContext,
  stream: PDFRawStream,
  meaning: Meaning,
  press: PressColour,
): Promise<PDFRawStream | undefined> => {
  const { dict } = stream;
  const [width, height] = [numberIn(dict, "Width"), numberIn(dict, "Height")];
  const { bytes, left } = unpacked(stream, MOST);
  let data: Uint8Array;
  if ((left === "DCTDecode" || left === "DCT") && meaning.space !== "lab") {
    const image = openImage(bytes, { ignoreIcc: true }).toColourspace("srgb").raw();
    const decoded = await image.toBuffer({ resolveWithObject: true });
    if (decoded.info.width !== width || decoded.info.height !== height || decoded.info.channels !== 3) return undefined;
    data = decoded.data;
  } else if (left === undefined && numberIn(dict, "BitsPerComponent") === 8)
    data = bytes.subarray(0, 3 * width * height);
  else return undefined;
  if (data.length !== 3 * width * height) return undefined;
  const made = await packed(context, await inksOfLight(meaning, data, press), {});
  for (const [key, value] of dict.entries())
    if (!["/Filter", "/DecodeParms", "/Length", "/ColorSpace", "/BitsPerComponent"].includes(key.toString()))
      made.dict.set(key, value);
  made.dict.set(name("ColorSpace"), name("DeviceCMYK"));
  made.dict.set(name("BitsPerComponent"), context.obj(8));
  return made;
};

/**
 * An indexed space over RGB or Lab as one over CMYK; undefined where its table cannot be read.
 *
 * @param pureBlack for a palette that solid colours are chosen from
 */
export const inkedPalette = async (
  context: PDFContext,
  space: PDFArray,
  meaning: Meaning,
  press: PressColour,
  pureBlack: boolean,
): Promise<PDFArray | undefined> => {
  const table: PDFObject | undefined = space.size() === 4 ? space.lookup(3) : undefined;
  const data =
    table instanceof PDFRawStream
      ? unpacked(table, MOST).bytes
      : table instanceof PDFHexString || table instanceof PDFString
        ? table.asBytes()
        : undefined;
  const colours = data ? Math.floor(data.length / 3) : 0;
  if (!data || colours === 0) return undefined;
  const inks = await inksOfLight(meaning, data.slice(0, 3 * colours), press, { pureBlack });
  const hex = Buffer.from(inks).toString("hex");
  return context.obj([name("Indexed"), name("DeviceCMYK"), space.get(2), PDFHexString.of(hex)]) as PDFArray;
};
