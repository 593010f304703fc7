import {
  type Contour,
  contourOf,
  grow,
  intersect,
  type Outline,
  outlinesBounds,
  type Rect,
  ringsOf,
  toMm,
} from "@kitforme/geometry";
import type { BuyersPicture, Piece, PictureSlot, Press } from "@kitforme/kit";
import { hasErrors, type Finding } from "@kitforme/kit/findings";
import { identifyRaster } from "../artwork/identify.ts";
import { MOST_PIXELS, openImage } from "../artwork/limits.ts";
import { strangeColours } from "../artwork/tiff-colours.ts";
import { srgb } from "../colour/profile.ts";
import { samplesToPress } from "../colour/to-press.ts";
import { weighPicture } from "../colour/weigh-ink.ts";
import type { Prepared, Raster, SetPicture } from "../prepared.ts";
import { placeOfSlot } from "./place-of-slot.ts";
import { say } from "./words.ts";

/** What buyers send; what else libvips opens stays shut. */
const FORMATS = new Set(["jpeg", "png", "tiff", "webp", "heif", "gif"]);

interface Region {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** What of a picture is shown: its crop, and of that what `cover` leaves inside the box; and the box that it fills. */
const shownOf = (
  size: { readonly width: number; readonly height: number },
  crop: BuyersPicture["crop"],
  { box, fit }: PictureSlot,
): { readonly region: Region; readonly box: Rect } => {
  const [cx, cy, cw, ch] = crop ?? [0, 0, 1, 1];
  const left = Math.min(size.width - 1, Math.round(cx * size.width));
  const top = Math.min(size.height - 1, Math.round(cy * size.height));
  const width = Math.max(1, Math.min(size.width - left, Math.round(cw * size.width)));
  const height = Math.max(1, Math.min(size.height - top, Math.round(ch * size.height)));
  const picture = width / height;
  const frame = box.width / box.height;
  if (fit === "contain") {
    const [w, h] = picture > frame ? [box.width, box.width / picture] : [box.height * picture, box.height];
    return {
      region: { left, top, width, height },
      box: { x: box.x + (box.width - w) / 2, y: box.y + (box.height - h) / 2, width: w, height: h },
    };
  }
  const [w, h] =
    picture > frame
      ? [Math.max(1, Math.round(height * frame)), height]
      : [width, Math.max(1, Math.round(width / frame))];
  return {
    region: { left: left + Math.floor((width - w) / 2), top: top + Math.floor((height - h) / 2), width: w, height: h },
    box,
  };
};

/**
 * Sets a buyer's picture into its slot, in the colours of the press: turned as its EXIF says, cropped, fitted to the box, on
 * white where it is translucent, clipped to the slot's shape or box and to where the piece may have ink.
 * @param bytes the file, whatever its name says
 */
export const setPicture = async (
  slot: PictureSlot,
  picture: BuyersPicture & { readonly bytes: Uint8Array },
  piece: Piece,
  press: Press,
): Promise<Prepared<SetPicture>> => {
  const { file, bytes } = picture;
  const where = placeOfSlot(piece, slot);
  const unreadable = (why: string): { findings: Finding[] } => ({
    findings: [say("picture-unreadable", where, { file, why })],
  });
  const size = await sizeOf(bytes);
  if (typeof size === "string") return unreadable(size);
  const { region, box } = shownOf(size, picture.crop, slot);
  const ppi = Math.min((region.width * 25_400) / box.width, (region.height * 25_400) / box.height);
  const findings: Finding[] = [];
  if (ppi < slot.least - 0.5)
    findings.push(
      say("picture-coarse", where, {
        file,
        pixels: [region.width, region.height],
        size: [toMm(Math.round(box.width)), toMm(Math.round(box.height))],
        ppi,
        least: slot.least,
      }),
    );
  const clip = clipOf(slot, box, piece, press);
  if (clip.length === 0) findings.push(say("picture-off-piece", where, { file }));
  const raster = await rasterOf(bytes, region, Math.min(1, press.resolution / ppi), press, slot.side);
  if (typeof raster === "string") return { findings: [...findings, ...unreadable(raster).findings] };
  if (hasErrors(findings)) return { findings };
  const layer = { kind: "raster", raster, box, clip } as const;
  const { width, height, data } = raster;
  const ink =
    raster.space === "cmyk"
      ? weighPicture({ width, height, box, data: data.bytes }, clip, outlinesBounds(reachOf(piece, press)))
      : undefined;
  return {
    value: { slot: slot.slot, ...(slot.side ? { side: slot.side } : {}), file, layer, ...(ink ? { ink } : {}) },
    findings,
  };
};

/** Where it may print: inside its frame, and no farther out than the bleed of the piece, where the neighbours begin. */
const clipOf = ({ shape, box: frame }: PictureSlot, box: Rect, piece: Piece, press: Press): Contour<"drawing">[] => {
  const outline = (outer: Contour<"drawing">): Outline<"drawing">[] => [{ outer, openings: [] }];
  const rounded = {
    x: Math.round(box.x),
    y: Math.round(box.y),
    width: Math.round(box.width),
    height: Math.round(box.height),
  };
  const framed = intersect(outline(contourOf<"drawing">(rounded)), outline(shape ?? contourOf<"drawing">(frame)));
  return ringsOf(intersect(framed, reachOf(piece, press)));
};

const reachOf = (piece: Piece, press: Press): Outline<"drawing">[] => grow(piece.parts, piece.bleed ?? press.bleed);

const firstLine = (error: unknown): string => (error as Error).message.split("\n")[0] as string;

const sizeOf = async (bytes: Uint8Array): Promise<{ width: number; height: number } | string> => {
  const strange = strangeColours(bytes);
  if (strange) return strange.what;
  try {
    const { format, width, height, orientation = 1 } = await openImage(bytes, { limitInputPixels: false }).metadata();
    if (!FORMATS.has(format)) return `it is ${format}, no picture of pixels that is taken`;
    if (width * height > MOST_PIXELS)
      return `it has ${width} x ${height} pixels; at most ${MOST_PIXELS / 1e6} million are opened`;
    return orientation >= 5 ? { width: height, height: width } : { width, height };
  } catch {
    return "it is no picture that is known here, or its beginning is damaged";
  }
};

/** Its pixels; those of the back turned over, left for right, as they lie seen through the card. */
const rasterOf = async (
  bytes: Uint8Array,
  region: Region,
  share: number,
  press: Press,
  side: PictureSlot["side"],
): Promise<Raster | string> => {
  const width = Math.max(1, Math.round(region.width * share));
  const height = Math.max(1, Math.round(region.height * share));
  try {
    // By way of sRGB, whatever colours it came in: translucency is settled on white as it looks on a screen.
    const { data, info } = await openImage(bytes)
      .autoOrient()
      .extract(region)
      .resize(width, height, { fit: "fill" })
      .flatten({ background: "#ffffff" })
      .flop(side === "back")
      .toColourspace("srgb")
      .raw()
      .toBuffer({ resolveWithObject: true });
    if (info.channels !== 3) throw new Error(`sharp gave ${info.channels} channels for sRGB`);
    const made = await samplesToPress({ width, height, space: "rgb", alpha: false, data }, press);
    const { space } = made;
    return identifyRaster({
      width,
      height,
      space,
      ...(space === "rgb" ? { profile: srgb().bytes } : {}),
      data: { kind: "raw", bytes: made.data },
    });
  } catch (error) {
    return `it is damaged or cut off (${firstLine(error)})`;
  }
};
