import type { Colour, Press } from "@kitforme/kit";
import sharp from "sharp";
import { BLACK, type Ink } from "../prepared.ts";
import { outputProfile } from "./profile.ts";

const share = (bytes: Uint8Array, at: number): number => (bytes[at] as number) / 255;

/**
 * The ink of a vector shape in a press's colours. Black is black ink alone on every press (common practice: four inks
 * under a letter show a fringe at the least misregister); any other colour goes through the profile the pictures go
 * through, so that a letter and a picture of one colour match. Perceptual intent, as sharp fixes it.
 *
 * @param colour `#rrggbb`, or inks in percent: these reach a CMYK press as they are; other presses mix them by the plain rule
 *   of ISO 32000 (DeviceCMYK to DeviceRGB: what an ink and black leave of the light)
 */
export async function inkOf(colour: Colour, press: Pick<Press, "colour">): Promise<Ink> {
  if (typeof colour !== "string") return mixed(colour, press);
  const hex = /^#([0-9a-f]{6})$/i.exec(colour)?.[1];
  if (hex === undefined) throw new Error(`inkOf wants #rrggbb and got ${colour}`);
  const rgb = Buffer.from(hex, "hex");
  if (press.colour === "rgb") return { space: "rgb", r: share(rgb, 0), g: share(rgb, 1), b: share(rgb, 2) };
  if (press.colour === "cmyk" && rgb.every((v) => v === 0)) return BLACK;
  const pixel = sharp(rgb, { raw: { width: 1, height: 1, channels: 3 } });
  if (press.colour === "grey") {
    const grey = await pixel.toColourspace("b-w").raw().toBuffer();
    return { space: "grey", g: share(grey, 0) };
  }
  const path = outputProfile(press)?.path as string;
  const inks = await pixel.withIccProfile(path).raw().toBuffer();
  return { space: "cmyk", c: share(inks, 0), m: share(inks, 1), y: share(inks, 2), k: share(inks, 3) };
}

const mixed = (percent: readonly [number, number, number, number], press: Pick<Press, "colour">): Ink => {
  const [c, m, y, k] = percent.map((value) => value / 100) as [number, number, number, number];
  if (press.colour === "cmyk") return { space: "cmyk", c, m, y, k };
  const [r, g, b] = [c, m, y].map((ink) => 1 - Math.min(1, ink + k)) as [number, number, number];
  // Weights of the same standard, DeviceRGB to DeviceGray.
  return press.colour === "rgb" ? { space: "rgb", r, g, b } : { space: "grey", g: 0.3 * r + 0.59 * g + 0.11 * b };
};
