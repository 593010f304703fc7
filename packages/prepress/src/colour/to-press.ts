import type { Press } from "@kitforme/kit";
import { sharp, type Sharp } from "../sharp.ts";
import { convert } from "./engine.ts";
import { limitInks } from "./limit-inks.ts";
import { inkLimitOf, type OutputProfile, outputProfile, type PressColour, srgb } from "./profile.ts";
import { channelsOf, type Samples, withoutAlpha } from "./samples.ts";

/** The colours that lossless pictures take on a press. */
export const spaceOn = (press: Pick<Press, "colour">): "grey" | "rgb" | "cmyk" => press.colour;

/**
 * Ends a pipeline of any RGB input in the colours of a press that is not `cmyk` (embedded profiles honoured, else taken as
 * sRGB). Grey loses its alpha in sharp: pictures with alpha go through `samplesToPress`.
 */
export const pipelineToPress = (image: Sharp, press: Pick<Press, "colour">): Sharp =>
  image.toColourspace(press.colour === "grey" ? "b-w" : "srgb");

/**
 * RGB samples in the colours of a press, alpha kept; on a CMYK press by its profile and intent, within its ink limit.
 *
 * @param pureBlack exactly black pixels become black ink alone instead of four inks: right for line art and letters, wrong
 *   where black is the end of a gradient or of a shadow, whose neighbours stay four inks deep
 * @param profile what the values mean on a CMYK press; left out, sRGB
 */
export async function samplesToPress(
  rgb: Samples,
  press: PressColour,
  { pureBlack = false, profile }: { readonly pureBlack?: boolean; readonly profile?: Uint8Array | undefined } = {},
): Promise<Samples> {
  if (press.colour === "rgb") return rgb;
  const { width, height, alpha } = rgb;
  if (press.colour === "cmyk") {
    const inks = await convert(
      withoutAlpha(rgb).data,
      profile ?? srgb().bytes,
      (outputProfile(press) as OutputProfile).bytes,
      press.intent ?? "perceptual",
    );
    limitInks(inks, inkLimitOf(press));
    const data = alpha ? inksWithAlpha(rgb, inks) : inks;
    if (pureBlack) blacken(rgb, data);
    return { width, height, space: "cmyk", alpha, data };
  }
  const image = sharp(rgb.data, { raw: { width, height, channels: alpha ? 4 : 3 }, limitInputPixels: false });
  const { data } = await pipelineToPress(image, press).raw().toBuffer({ resolveWithObject: true });
  const made: Samples = { width, height, space: press.colour, alpha, data };
  if (alpha) return { ...made, data: withAlphaOf(rgb, data) };
  if (data.length !== width * height)
    throw new Error(`sharp gave ${data.length} values for ${width} x ${height} of grey`);
  return made;
}

const inksWithAlpha = (rgba: Samples, inks: Uint8Array): Uint8Array => {
  const data = new Uint8Array(rgba.width * rgba.height * 5);
  for (let from = 0, alpha = 3, to = 0; from < inks.length; from += 4, alpha += 4, to += 5) {
    data[to] = inks[from] as number;
    data[to + 1] = inks[from + 1] as number;
    data[to + 2] = inks[from + 2] as number;
    data[to + 3] = inks[from + 3] as number;
    data[to + 4] = rgba.data[alpha] as number;
  }
  return data;
};

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
