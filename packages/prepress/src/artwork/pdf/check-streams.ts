import { type PDFContext, PDFArray, PDFDict, PDFName, PDFNumber, PDFRawStream } from "../../pdf-lib.ts";
import { checkJpeg } from "../damage/check-jpeg.ts";
import { checkProfile } from "../damage/check-profile.ts";
import { Broken } from "../damage/damage.ts";
import { channelsIn } from "./components-of.ts";
import { unpacked } from "./unpack.ts";

const name = (key: string): PDFName => PDFName.of(key);
/** Bytes that one picture may unpack to: an A2 sheet at 300 ppi in four inks has 139 million. */
const MOST = 2 ** 29;

const numberIn = (dict: PDFDict, key: string): number | undefined => {
  const value = dict.lookup(name(key));
  return value instanceof PDFNumber ? value.asNumber() : undefined;
};

/**
 * Unpacks every stream of a context to its end: pictures, fonts, profiles, functions, forms. Renderers show what they could
 * read of a stream that is cut short, and print so.
 *
 * @throws Broken at the first that is damaged
 */
export const checkStreams = (context: PDFContext): void => {
  const profiles = new Set<PDFRawStream>();
  const fonts = new Map<PDFRawStream, string>();
  const streams: PDFRawStream[] = [];
  for (const [, object] of context.enumerateIndirectObjects()) {
    if (object instanceof PDFRawStream) streams.push(object);
    if (object instanceof PDFArray && object.size() === 2 && object.lookup(0) === name("ICCBased")) {
      const profile = object.lookup(1);
      if (profile instanceof PDFRawStream) profiles.add(profile);
    }
    if (object instanceof PDFDict)
      for (const key of ["FontFile", "FontFile2", "FontFile3"]) {
        const file = object.has(name(key)) ? object.lookup(name(key)) : undefined;
        if (file instanceof PDFRawStream) fonts.set(file, key);
        else if (object.has(name(key)) && object.has(name("FontName"))) throw new Broken("a font file is missing");
      }
  }
  for (const stream of streams) {
    const { bytes, left } = unpacked(stream, MOST);
    if (stream.dict.lookup(name("Subtype")) === name("Image")) checkImage(stream, bytes, left);
    if (profiles.has(stream)) checkProfile(bytes);
    const font = fonts.get(stream);
    if (font) checkFont(bytes, font, stream.dict);
  }
};

const checkImage = ({ dict }: PDFRawStream, bytes: Uint8Array, left: string | undefined): void => {
  const [width, height] = [numberIn(dict, "Width") ?? 0, numberIn(dict, "Height") ?? 0];
  if (width < 1 || height < 1) throw new Broken("a picture has no size");
  if (left === "DCTDecode" || left === "DCT") return checkJpeg(bytes);
  if (left !== undefined) return;
  const stencil = dict.lookup(name("ImageMask"))?.toString() === "true";
  const channels = stencil ? 1 : channelsIn(dict.lookup(name("ColorSpace")));
  if (channels === undefined) return;
  const bits = stencil ? 1 : (numberIn(dict, "BitsPerComponent") ?? 8);
  const wanted = height * Math.ceil((width * channels * bits) / 8);
  if (bytes.length < wanted) throw new Broken(`a picture has ${bytes.length} bytes of pixels instead of ${wanted}`);
};

/** A font's tables lie inside it (OpenType), its parts add up (Type 1). */
const checkFont = (bytes: Uint8Array, key: string, dict: PDFDict): void => {
  if (bytes.length < 4) throw new Broken("a font is empty");
  if (key === "FontFile") {
    const parts = ["Length1", "Length2"].map((part) => numberIn(dict, part) ?? 0);
    if (bytes.length < (parts[0] as number) + (parts[1] as number)) throw new Broken("a font is cut short");
    return;
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const kind = view.getUint32(0);
  if (kind !== 0x00010000 && kind !== 0x4f54544f && kind !== 0x74727565) return;
  const count = view.getUint16(4);
  if (12 + 16 * count > bytes.length) throw new Broken("a font is cut short");
  for (let i = 0; i < count; i++) {
    const [at, length] = [view.getUint32(20 + 16 * i), view.getUint32(24 + 16 * i)];
    // Subsets often leave the padding of the last table out.
    if (length > 0 && at + length > bytes.length + 3) throw new Broken("a font is cut short");
  }
};
