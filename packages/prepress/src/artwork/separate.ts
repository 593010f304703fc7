import type { Rect, Um } from "@kitforme/geometry";
import type { Press } from "@kitforme/kit";
import type { Separated } from "../colour/weigh-ink.ts";
import { boxOf, type Crop } from "./crop.ts";
import { spotsOf } from "./pdf/inspect.ts";
import type { Kept } from "./pdf/keep.ts";
import { platesOf, spotPlate } from "./pdf/plates.ts";
import type { RenderOptions } from "./render-page.ts";
import { settle } from "./settle.ts";

interface RasterSize {
  readonly width: number;
  readonly height: number;
}

/** Pixels of plates that are only weighed: a quarter of a millimetre. */
const WEIGHED: Um = 250;

/**
 * The plates of a page whose spot inks stay, coarsely: for how much ink there is, not for printing. What overprints is seen as if it hid
 * what lies under it.
 *
 * @param pixels of the whole page where it is printed; `crop` is the part that is looked at
 * @returns undefined where plates cannot be made (see `platesOf`)
 */
export const separate = async (
  { page, anatomy }: Kept,
  press: Press,
  { place, crop, pixels }: { readonly place: Rect; readonly crop: Crop; readonly pixels: RasterSize },
): Promise<Separated | undefined> => {
  if (press.colour !== "cmyk") return undefined;
  const scale = Math.min(1, place.width / WEIGHED / pixels.width);
  const [whole, region] = [
    { width: Math.round(pixels.width * scale), height: Math.round(pixels.height * scale) },
    {
      x: Math.floor(crop.left * scale),
      y: Math.floor(crop.top * scale),
      width: Math.max(1, Math.round(crop.width * scale)),
      height: Math.max(1, Math.round(crop.height * scale)),
    },
  ];
  const options: RenderOptions = { ...whole, region, transparent: true };
  const drawn = await (await platesOf(page.bytes, press, "process"))?.draw(options);
  if (!drawn) return undefined;
  settle(drawn);
  const spots = new Map<string, Uint8Array>();
  for (const spot of spotsOf(anatomy)) {
    const plate = await spotPlate(page.bytes, spot, press, options);
    if (!plate) return undefined;
    spots.set(spot, plate);
  }
  const { width, height, data } = drawn;
  const box = boxOf({ left: region.x, top: region.y, width, height }, place, whole);
  return { process: { width, height, channels: 5, depth: 8, data, alpha: true, box }, spots };
};
