import type { Press } from "@kitforme/kit";
import sharp, { type Sharp } from "sharp";
import { outputProfile } from "./profile.ts";
import { channelsOf, type Samples } from "./samples.ts";

/** The colours that lossless pictures take on a press. */
export const spaceOn = (press: Pick<Press, "colour">): "grey" | "rgb" | "cmyk" => press.colour;

/**
 * Ends a pipeline of any RGB input (embedded profiles honoured, else taken as sRGB) in the colours of a press. For CMYK the
 * profile alone and never `toColourspace("cmyk")` beside it, which converts twice, through a profile of libvips' own: green
 * came out as 78,10,255,0 instead of 168,0,253,0. The intent is perceptual, fixed by sharp.
 *
 * Grey loses its alpha in sharp: pictures with alpha go through `samplesToPress`.
 */
export const pipelineToPress = (image: Sharp, press: Pick<Press, "colour">): Sharp => {
  if (press.colour === "grey") return image.toColourspace("b-w");
  if (press.colour === "rgb") return image.toColourspace("srgb");
  return image.withIccProfile(outputProfile(press)?.path ?? "cmyk");
};

/**
 * sRGB samples in the colours of a press, alpha kept.
 *
 * @param pureBlack exactly black pixels become black ink alone instead of four inks: right for line art and letters, wrong
 *   where black is the end of a gradient or of a shadow, whose neighbours stay four inks deep
 */
export async function samplesToPress(
  rgb: Samples,
  press: Pick<Press, "colour">,
  { pureBlack = false }: { readonly pureBlack?: boolean } = {},
): Promise<Samples> {
  if (press.colour === "rgb") return rgb;
  const { width, height, alpha } = rgb;
  const image = sharp(rgb.data, { raw: { width, height, channels: alpha ? 4 : 3 }, limitInputPixels: false });
  const { data, info } = await pipelineToPress(image, press).raw().toBuffer({ resolveWithObject: true });
  const made: Samples = { width, height, space: press.colour, alpha, data };
  if (press.colour === "grey" && alpha) return { ...made, data: withAlphaOf(rgb, data) };
  if (info.channels !== channelsOf(made)) throw new Error(`sharp gave ${info.channels} channels for ${press.colour}`);
  if (pureBlack && press.colour === "cmyk") blacken(rgb, data);
  return made;
}

const withAlphaOf = (rgba: Samples, grey: Uint8Array): Uint8Array => {
  const data = new Uint8Array(rgba.width * rgba.height * 2);
  for (let at = 0; at < grey.length; at++) {
    data[2 * at] = grey[at] as number;
    data[2 * at + 1] = rgba.data[4 * at + 3] as number;
  }
  return data;
};

const blacken = (rgb: Samples, cmyk: Uint8Array): void => {
  const from = channelsOf(rgb);
  const to = rgb.alpha ? 5 : 4;
  for (let at = 0, ink = 0; ink < cmyk.length; at += from, ink += to) {
    if (rgb.data[at] !== 0 || rgb.data[at + 1] !== 0 || rgb.data[at + 2] !== 0) continue;
    cmyk[ink] = 0;
    cmyk[ink + 1] = 0;
    cmyk[ink + 2] = 0;
    cmyk[ink + 3] = 255;
  }
};
