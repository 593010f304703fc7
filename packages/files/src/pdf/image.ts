import { createHash } from "node:crypto";
import { promisify } from "node:util";
import { deflate } from "node:zlib";
import type { Raster } from "@kitforme/prepress";
import { type PDFContext, PDFName, type PDFObject, PDFRawStream, type PDFRef } from "../pdf-lib.ts";
import type { PackedPictures } from "./packed-pictures.ts";

const deflated = promisify(deflate);

const CHANNELS = { grey: 1, rgb: 3, cmyk: 4 } as const;
const DEVICE = { grey: "DeviceGray", rgb: "DeviceRGB", cmyk: "DeviceCMYK" } as const;

/** The one profile object per distinct profile of a document, and the output condition that needs none. */
export interface Profiles {
  /** Bytes of the output intent's profile; a picture in the same space is simply device colour. */
  readonly intent: Uint8Array | null;
  readonly known: Map<string, PDFRef>;
}

/** A stream of bytes, deflated at level 6: level 9 costs twice the time for one per cent. */
export const flateStream = async (
  context: PDFContext,
  bytes: Uint8Array,
  entries: Readonly<Record<string, PDFObject>>,
): Promise<PDFRawStream> => packedStream(context, await packed(bytes), entries);

/** A stream of bytes that are deflated already. */
export const packedStream = (
  context: PDFContext,
  bytes: Uint8Array,
  entries: Readonly<Record<string, PDFObject>> = {},
): PDFRawStream => rawStream(context, bytes, { Filter: PDFName.of("FlateDecode"), ...entries });

/** Bytes deflated. */
export const packed = async (bytes: Uint8Array): Promise<Uint8Array> => {
  const { buffer, byteOffset, byteLength } = await deflated(bytes, { level: 6 });
  return new Uint8Array(buffer, byteOffset, byteLength);
};

/** A stream whose bytes go into the file as they are. */
export const rawStream = (
  context: PDFContext,
  bytes: Uint8Array,
  entries: Readonly<Record<string, PDFObject>>,
): PDFRawStream => PDFRawStream.of(context.obj({ ...entries, Length: bytes.length }), bytes);

/** A picture as an image XObject: raw pixels deflated, a JPEG passed through untouched. */
export const embedRaster = async (
  context: PDFContext,
  raster: Raster,
  profiles: Profiles,
  pictures: PackedPictures,
): Promise<PDFRef> => {
  const { width, height, space, data } = raster;
  const channels = CHANNELS[space];
  const entries: Record<string, PDFObject> = {
    Type: PDFName.of("XObject"),
    Subtype: PDFName.of("Image"),
    Width: context.obj(width),
    Height: context.obj(height),
    BitsPerComponent: context.obj(8),
    ColorSpace: await colourSpace(context, raster, profiles),
  };
  if (data.inverted) entries["Decode"] = context.obj(Array.from({ length: channels }, () => [1, 0]).flat());
  if (data.kind === "jpeg")
    return context.register(rawStream(context, data.bytes, { ...entries, Filter: PDFName.of("DCTDecode") }));
  const stride = width * channels;
  entries["DecodeParms"] = context.obj({ Predictor: 15, Colors: channels, BitsPerComponent: 8, Columns: width });
  const bytes = await pictures.of(raster.id, () => {
    // Read once: pictures may lie in a file, and are read each time they are asked for.
    const pixels = data.bytes;
    if (pixels.length !== stride * height)
      throw new Error(`picture ${raster.id}: ${pixels.length} bytes for ${width} x ${height} x ${channels}`);
    return pictures.within(pixels.length + height, (room) => packed(up(pixels, stride, room)));
  });
  return context.register(rawStream(context, bytes, { Filter: PDFName.of("FlateDecode"), ...entries }));
};

/**
 * Every row as its difference from the row above (PNG filter 2): flat artwork becomes zeros. Choosing a filter per row gains
 * nothing on kit artwork for three times the work.
 *
 * @param out where to: a byte a row more; every byte is written
 */
const up = (pixels: Uint8Array, stride: number, out: Uint8Array): Uint8Array => {
  const rows = pixels.length / stride;
  for (let row = 0; row < rows; row++) {
    const from = row * stride;
    const to = row * (stride + 1);
    out[to] = 2;
    if (row === 0) out.set(pixels.subarray(0, stride), 1);
    else for (let i = 0; i < stride; i++) out[to + 1 + i] = (pixels[from + i] ?? 0) - (pixels[from - stride + i] ?? 0);
  }
  return out;
};

/** sRGB as calibrated RGB (IEC 61966-2-1 primaries, gamma 2.2): what an untagged RGB picture is taken for. */
const CALIBRATED_RGB = {
  WhitePoint: [0.9505, 1, 1.089],
  Gamma: [2.2, 2.2, 2.2],
  Matrix: [0.4124, 0.2126, 0.0193, 0.3576, 0.7152, 0.1192, 0.1805, 0.0722, 0.9505],
};

const colourSpace = async (context: PDFContext, raster: Raster, profiles: Profiles): Promise<PDFObject> => {
  const { space, profile } = raster;
  const intentChannels = profiles.intent && channelsOf(profiles.intent);
  if (profile && !(profiles.intent && sameBytes(profile, profiles.intent)))
    return context.obj([PDFName.of("ICCBased"), await embedProfile(context, profile, profiles)]);
  // Device RGB means nothing under a CMYK condition, and PDF/X-4 forbids it there.
  if (space === "rgb" && intentChannels !== null && intentChannels !== 3)
    return context.obj([PDFName.of("CalRGB"), context.obj(CALIBRATED_RGB)]);
  return PDFName.of(DEVICE[space]);
};

/** Profiles packed, for as long as they are in use: every sheet of a press has the same. */
const packedProfiles = new WeakMap<Uint8Array, Promise<Uint8Array>>();

/** One stream for one profile, however many pictures name it. */
export const embedProfile = async (context: PDFContext, profile: Uint8Array, profiles: Profiles): Promise<PDFRef> => {
  const id = createHash("sha256").update(profile).digest("hex");
  const known = profiles.known.get(id);
  if (known) return known;
  const bytes = packedProfiles.get(profile) ?? packed(profile);
  packedProfiles.set(profile, bytes);
  const ref = context.register(packedStream(context, await bytes, { N: context.obj(channelsOf(profile)) }));
  profiles.known.set(id, ref);
  return ref;
};

/** Channels of an ICC profile by its header, bytes 16 to 19 (ICC.1, table of the profile header). */
export const channelsOf = (profile: Uint8Array): 1 | 3 | 4 => {
  const space = String.fromCharCode(...profile.subarray(16, 20));
  if (space === "GRAY") return 1;
  if (space === "CMYK") return 4;
  if (space === "RGB " || space === "Lab ") return 3;
  throw new Error(`ICC profile of an unknown colour space "${space}"`);
};

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean => Buffer.compare(a, b) === 0;
