import type { Colour } from "@kitforme/kit";
import { sharp } from "../sharp.ts";
import { BLACK, type Ink } from "../prepared.ts";
import { convert } from "./engine.ts";
import { limitInks } from "./limit-inks.ts";
import { inkLimitOf, outputProfile, type PressColour, srgb } from "./profile.ts";

const share = (bytes: Uint8Array, at: number): number => (bytes[at] as number) / 255;

/**
 * The ink of a vector shape in a press's colours. Dark colours that are nearly neutral are black ink alone on every press
 * (common practice: four inks under a letter show a fringe at the least misregister; #101010 would be 311 %); any other
 * colour goes through the profile the pictures go through, so that a letter and a picture of one colour match. Inks that are
 * given as such stay what they are on a CMYK press.
 *
 * @throws on a colour of another form
 */
export async function inkOf(colour: Colour, press: PressColour): Promise<Ink> {
  if (typeof colour !== "string") return inkOfInks(colour, press);
  const hex = /^#([0-9a-f]{6})$/i.exec(colour)?.[1];
  if (hex === undefined) throw new Error(`inkOf wants #rrggbb and got ${colour}`);
  return inkOfRgb(Buffer.from(hex, "hex"), press);
}

const inkOfRgb = async (rgb: Uint8Array, press: PressColour): Promise<Ink> => {
  if (press.colour === "rgb") {
    // Three equal lights come out as four inks; a grey comes out as black alone.
    if ((await darkNeutral(rgb)) !== undefined)
      return { space: "grey", g: Math.round((1000 * neutralOf(rgb)) / 255) / 1000 };
    return { space: "rgb", r: share(rgb, 0), g: share(rgb, 1), b: share(rgb, 2) };
  }
  if (press.colour === "grey") {
    const pixel = sharp(rgb, { raw: { width: 1, height: 1, channels: 3 } });
    return { space: "grey", g: share(await pixel.toColourspace("b-w").raw().toBuffer(), 0) };
  }
  if (rgb.every((v) => v === 0)) return BLACK;
  const to = outputProfile(press)?.bytes as Uint8Array;
  const black = await blackLike(rgb, to);
  if (black !== undefined) return { space: "cmyk", c: 0, m: 0, y: 0, k: black / 255 };
  const inks = await convert(rgb, srgb().bytes, to, press.intent ?? "perceptual");
  limitInks(inks, inkLimitOf(press));
  return { space: "cmyk", c: share(inks, 0), m: share(inks, 1), y: share(inks, 2), k: share(inks, 3) };
};

const inkOfInks = async (percent: readonly [number, number, number, number], press: PressColour): Promise<Ink> => {
  if (percent.some((one) => !(one >= 0 && one <= 100)))
    throw new Error(`inkOf wants 0 to 100 percent and got ${percent.join()}`);
  const [c, m, y, k] = percent.map((one) => one / 100) as [number, number, number, number];
  if (press.colour === "cmyk") return { space: "cmyk", c, m, y, k };
  if (c === 0 && m === 0 && y === 0 && press.colour === "grey") return { space: "grey", g: 1 - k };
  const inks = Uint8Array.from([c, m, y, k], (one) => Math.round(one * 255));
  const from = outputProfile({ colour: "cmyk" })?.bytes as Uint8Array;
  return inkOfRgb(await convert(inks, from, srgb().bytes, "relative"), press);
};

/** Lightness (L*) up to which a neutral is a letter's dark, and how far from neutral the eye still calls it so (C*ab). */
const [DARK, NEUTRAL] = [45, 8];

/** The lightness (L*) of a dark neutral; undefined for all other colours. */
const darkNeutral = async (rgb: Uint8Array): Promise<number | undefined> => {
  const lab = await convert(rgb, srgb().bytes, "lab", "relative");
  const [lightness, a, b] = [share(lab, 0) * 100, (lab[1] as number) - 128, (lab[2] as number) - 128];
  return lightness > DARK || Math.hypot(a, b) > NEUTRAL ? undefined : lightness;
};

/** The light of a colour that is nearly neutral, as one value of 0 to 255 (weights of ITU-R BT.709, as sRGB has them). */
const neutralOf = (rgb: Uint8Array): number =>
  [0.2126, 0.7152, 0.0722].reduce((sum, weight, i) => sum + weight * (rgb[i] as number), 0);

/** The black ink alone, 0 to 255, that is as light as a dark neutral; undefined for all other colours. */
const blackLike = async (rgb: Uint8Array, profile: Uint8Array): Promise<number | undefined> => {
  const lightness = await darkNeutral(rgb);
  if (lightness === undefined) return undefined;
  const steps = new Uint8Array(256 * 4);
  for (let k = 0; k < 256; k++) steps[4 * k + 3] = k;
  // Black-point compensation makes the press's deepest black as deep as the screen's: greys keep their distance to it.
  const seen = await convert(steps, profile, "lab", "relative");
  let best = 255;
  for (let k = 255; k >= 0; k--)
    if (Math.abs(share(seen, 3 * k) * 100 - lightness) < Math.abs(share(seen, 3 * best) * 100 - lightness)) best = k;
  return best;
};
