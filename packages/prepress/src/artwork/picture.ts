import type { Press } from "@kitforme/kit";
import type { Metadata, Sharp } from "sharp";
import { srgb } from "../colour/profile.ts";
import { channelsOf, coverage, INKS, type Samples, withoutAlpha } from "../colour/samples.ts";
import { pipelineToPress, samplesToPress } from "../colour/to-press.ts";
import { checkResolution, resolutionOf, type ResolutionLimits } from "./check-resolution.ts";
import { boxOf, type Crop, cropTo } from "./crop.ts";
import { damageOf, profileDamage } from "./damage/damage-of.ts";
import { identifyRaster } from "./identify.ts";
import { type JpegFacts, readJpeg } from "./jpeg.ts";
import { isLossy } from "./lossy.ts";
import { MOST_PIXELS, openImage } from "./limits.ts";
import type { FileArtwork, Opened, Window } from "./opened.ts";
import type { Report } from "./report.ts";
import { settle } from "./settle.ts";
import { strangeColours } from "./tiff-colours.ts";

/** `heif` is how the decoder calls AVIF; HEIC itself it does not open. */
const FORMATS = new Set(["png", "jpeg", "tiff", "webp", "heif"]);
/** Above this share of the press's resolution pixels only cost time: such pictures are brought down to the press's. */
const TOO_FINE = 2;

interface Facts {
  readonly metadata: Metadata;
  /** Pixels as shown, EXIF turn applied. */
  readonly width: number;
  readonly height: number;
  readonly space: Samples["space"];
}

/** Reads a PNG, JPEG or TIFF for one press. `undefined` when the report has the reason. */
export async function openPicture(
  artwork: FileArtwork,
  press: Press,
  window: Window,
  limits: ResolutionLimits,
  report: Report,
): Promise<Opened | undefined> {
  const facts = await readFacts(artwork, report);
  if (!facts) return undefined;
  checkResolution(facts, artwork.box, press, limits, report);
  const crop = cropTo(window.box, artwork.box, facts);
  if (!crop) {
    report.say("artwork-blank", { what: "picture" });
    return undefined;
  }
  const jpeg = facts.metadata.format === "jpeg" ? readJpeg(artwork.bytes) : undefined;
  try {
    return jpeg && showable(jpeg, facts, press)
      ? await passThrough(jpeg, artwork, facts, press, crop)
      : await convert(artwork, facts, press, crop);
  } catch (error) {
    report.say("artwork-unreadable", { what: firstLine(error) });
    return undefined;
  }
}

const firstLine = (error: unknown): string => (error as Error).message.split("\n")[0] as string;

async function readFacts(artwork: FileArtwork, report: Report): Promise<Facts | undefined> {
  const strange = strangeColours(artwork.bytes);
  if (strange) {
    report.say("artwork-unreadable", strange);
    return undefined;
  }
  let metadata: Metadata;
  try {
    // Headers only: the limit is ours to tell about, with numbers, and nothing is decoded yet.
    metadata = await openImage(artwork.bytes, { limitInputPixels: false }).metadata();
  } catch (error) {
    report.say("artwork-unreadable", { what: firstLine(error), remedy: "Export it again as PNG, JPEG or TIFF" });
    return undefined;
  }
  const { format, depth, orientation = 1 } = metadata;
  if (!FORMATS.has(format)) {
    report.say("artwork-unreadable", {
      what: `the file is ${format}, not ${artwork.format}`,
      remedy: "Export it as PNG, JPEG or TIFF",
    });
    return undefined;
  }
  if (metadata.width * metadata.height > MOST_PIXELS) {
    report.say("artwork-oversized", { pixels: [metadata.width, metadata.height], most: MOST_PIXELS });
    return undefined;
  }
  if (depth !== "uchar" && depth !== "ushort" && depth !== "char") {
    report.say("artwork-unreadable", {
      what: `its samples are ${depth}`,
      remedy: "Export it with 8 or 16 bits a channel",
    });
    return undefined;
  }
  if ((metadata.pages ?? 1) > 1) report.say("artwork-more-pages", { what: "file", pages: metadata.pages ?? 1 });
  const damage = damageOf(format, artwork.bytes) ?? (metadata.icc && profileDamage(metadata.icc));
  if (damage) {
    report.say("artwork-unreadable", damage);
    return undefined;
  }
  const [width, height] = orientation >= 5 ? [metadata.height, metadata.width] : [metadata.width, metadata.height];
  const space = metadata.space === "cmyk" ? "cmyk" : /^(b-w|grey16)$/.test(metadata.space) ? "grey" : "rgb";
  return { metadata, width, height, space };
}

/** Whether the file's own bytes can stand in the PDF: what DCTDecode takes, upright, in colours this press prints. */
const showable = (jpeg: JpegFacts, { metadata }: Facts, press: Press): boolean =>
  jpeg.plain &&
  jpeg.complete &&
  (metadata.orientation ?? 1) === 1 &&
  (jpeg.components === 1 ||
    (jpeg.components === 3 && press.colour === "rgb") ||
    (jpeg.components === 4 && press.colour === "cmyk"));

async function passThrough(
  jpeg: JpegFacts,
  artwork: FileArtwork,
  facts: Facts,
  press: Press,
  crop: Crop,
): Promise<Opened> {
  const space = jpeg.components === 4 ? "cmyk" : jpeg.components === 1 ? "grey" : "rgb";
  const profile = space === "rgb" ? rgbProfile(facts.metadata.icc) : undefined;
  const { width, height } = facts;
  const raster = identifyRaster({
    width,
    height,
    space,
    ...(profile ? { profile } : {}),
    data: { kind: "jpeg", bytes: jpeg.bare, ...(space === "cmyk" ? { inverted: jpeg.adobe } : {}) },
  });
  // Decoded without its profile: the ring's pixels then carry the file's own values, and the same profile explains both.
  const region = reduced(openImage(jpeg.bare).extract(crop), artwork, facts, press, crop);
  const data = await keeping(region, space).raw().toBuffer();
  // libvips inverts every CMYK JPEG; without the Adobe marker the values are ink amounts as they stand.
  if (space === "cmyk" && !jpeg.adobe) for (let at = 0; at < data.length; at++) data[at] = 255 - (data[at] as number);
  const size = reducedSize(artwork, facts, press, crop);
  return {
    ...gridOf({ ...size, space, alpha: false, data }, boxOf(crop, artwork.box, facts), "jpeg", profile),
    original: { kind: "jpeg", raster, box: artwork.box },
  };
}

async function convert(artwork: FileArtwork, facts: Facts, press: Press, crop: Crop): Promise<Opened> {
  const { metadata, space } = facts;
  const region = (): Sharp => reduced(openImage(artwork.bytes).autoOrient().extract(crop), artwork, facts, press, crop);
  const size = reducedSize(artwork, facts, press, crop);
  const box = boxOf(crop, artwork.box, facts);
  const source = isLossy(metadata.format, artwork.bytes) ? "jpeg" : "clean";
  // Alpha or not, the outermost pixel gives no colour to the bleed: programs that clip layer by layer leave a share of every
  // lower layer in it, opaque as it is, and each such pixel would be a streak across the band.
  const done = (samples: Samples): Opened => {
    const covered = coverage(samples) === "opaque";
    return gridOf(covered ? withoutAlpha(samples) : samples, box, source, profileFor(samples));
  };

  if (space === "cmyk" && press.colour === "cmyk") {
    const data = await inksOf(region(), metadata);
    const inks: Samples = { ...size, space, alpha: metadata.hasAlpha, data };
    if (inks.alpha) settle(inks);
    return done(inks);
  }
  if (space === "rgb" && press.colour === "cmyk") {
    // Values as the file has them, and one conversion by the press's intent: JPEG and PNG of one picture give the same inks.
    const device = reduced(
      openImage(artwork.bytes, { ignoreIcc: true }).autoOrient().extract(crop),
      artwork,
      facts,
      press,
      crop,
    ).toColourspace("srgb");
    const alpha = metadata.hasAlpha;
    const data = await (alpha ? device.ensureAlpha() : device).raw().toBuffer();
    const rgb: Samples = { ...size, space, alpha, data };
    if (alpha) settle(rgb);
    return done(await samplesToPress(rgb, press, { profile: rgbProfile(metadata.icc) }));
  }
  if (!metadata.hasAlpha) {
    const kept = space === "grey" ? keeping(region(), space) : pipelineToPress(region(), press);
    const to = space === "grey" ? "grey" : press.colour;
    return done({ ...size, space: to, alpha: false, data: await kept.raw().toBuffer() });
  }
  // With alpha by way of sRGB samples: translucency is settled as it looks on a screen, before inks are known.
  const rgba: Samples = {
    ...size,
    space: "rgb",
    alpha: true,
    data: await region().toColourspace("srgb").ensureAlpha().raw().toBuffer(),
  };
  settle(rgba);
  return done(await samplesToPress(rgba, space === "grey" ? { colour: "grey" } : press));
}

/** Ends a pipeline with the values a file holds, converted by nothing. */
const keeping = (image: Sharp, space: Samples["space"]): Sharp =>
  // Both calls or sharp converts CMYK through RGB.
  space === "cmyk"
    ? image.pipelineColourspace("cmyk").toColourspace("cmyk")
    : image.toColourspace(space === "grey" ? "b-w" : "srgb");

/** CMYK values as the file has them, 8 bits: 16 would be cut off at 255 on their way, not scaled. */
const inksOf = async (image: Sharp, { depth }: Metadata): Promise<Uint8Array> => {
  const kept = keeping(image, "cmyk");
  if (depth !== "ushort") return kept.raw().toBuffer();
  const deep = await kept.raw({ depth: "ushort" }).toBuffer();
  const samples = new Uint16Array(deep.buffer, deep.byteOffset, deep.length / 2);
  return Uint8Array.from(samples, (value) => Math.round(value / 257));
};

const reducedSize = (
  artwork: FileArtwork,
  pixels: { readonly width: number; readonly height: number },
  press: Press,
  crop: Crop,
): { readonly width: number; readonly height: number } => {
  const { x, y } = resolutionOf(pixels, artwork.box);
  const share = (ppi: number): number => (ppi > TOO_FINE * press.resolution ? press.resolution / ppi : 1);
  return {
    width: Math.max(1, Math.round(crop.width * share(x))),
    height: Math.max(1, Math.round(crop.height * share(y))),
  };
};

const reduced = (image: Sharp, artwork: FileArtwork, facts: Facts, press: Press, crop: Crop): Sharp => {
  const { width, height } = reducedSize(artwork, facts, press, crop);
  return width === crop.width && height === crop.height ? image : image.resize(width, height, { fit: "fill" });
};

/** An embedded RGB profile, or sRGB for files without one: no RGB of ours is device RGB. */
const rgbProfile = (icc: Uint8Array | undefined): Uint8Array => {
  const text = (at: number): string => Buffer.from((icc ?? new Uint8Array()).subarray(at, at + 4)).toString("latin1");
  return icc && icc.length >= 128 && text(16) === "RGB " && text(36) === "acsp" ? icc : srgb().bytes;
};

const profileFor = ({ space }: Samples): Uint8Array | undefined => (space === "rgb" ? srgb().bytes : undefined);

const gridOf = (
  samples: Samples,
  box: Opened["grid"]["box"],
  source: Opened["source"],
  profile: Uint8Array | undefined,
): Opened => {
  const { width, height, space, alpha, data } = samples;
  if (data.length !== width * height * channelsOf(samples))
    throw new Error(`${data.length} samples for ${width} x ${height} pixels of ${INKS[space]} colours`);
  return {
    grid: { width, height, channels: channelsOf(samples), depth: 8, data, alpha, box },
    space,
    source,
    ...(profile ? { profile } : {}),
  };
};
