// The gate: a page of vectors is drawn small by the renderer of PDF and held against the drawing as it would print in pixels,
// both as they look on paper. What differs to the eye stays pixels.
import { differing, patchesIn, thickOf } from "../artwork/differing.ts";
import { withPage } from "../artwork/pdf/pdfium.ts";
import { drawPage } from "../artwork/render-page.ts";
import { convert } from "../colour/engine.ts";
import { outputProfile, type OutputProfile, type PressColour, srgb } from "../colour/profile.ts";
import { samplesToPress } from "../colour/to-press.ts";

/** Pixels that must hang together to be seen: 1 x 1 mm of a card of 100 mm, drawn 360 pixels long. */
const SEEN = 14;
/** Levels by which a colour may lie outside what the other has around it; paint that is seen through mixes in inks, not in light. */
const TOLERANCE = 24;

/** RGB on white paper, as many pixels as asked for. */
export interface View {
  readonly width: number;
  readonly height: number;
  readonly rgb: Uint8Array;
}

/** Middle of the largest place where two views differ, in shares of their width and height; undefined where none is seen. */
export const whereUnlike = (a: View, b: View, tolerance = TOLERANCE): readonly [number, number] | undefined => {
  const { mask } = differing(a.rgb, b.rgb, a.width, a.height, tolerance);
  const [patch] = patchesIn(thickOf(mask, a.width), a.width);
  if (!patch || patch.area < SEEN) return undefined;
  return [(patch.left + patch.right) / 2 / a.width, (patch.top + patch.bottom) / 2 / a.height];
};

/** A drawing as its pixels would print: RGBA with straight alpha on paper, through the press's colours and back. */
export const viewOfPixels = async (
  rgba: Uint8Array,
  width: number,
  height: number,
  press: PressColour,
  pureBlack: boolean,
): Promise<View> => {
  const rgb = new Uint8Array(width * height * 3);
  for (let from = 0, to = 0; from < rgba.length; from += 4, to += 3) {
    const alpha = rgba[from + 3] as number;
    for (let channel = 0; channel < 3; channel++)
      rgb[to + channel] = Math.round(((rgba[from + channel] as number) * alpha) / 255 + 255 - alpha);
  }
  if (press.colour === "rgb") return { width, height, rgb };
  const { data } = await samplesToPress({ width, height, space: "rgb", alpha: false, data: rgb }, press, { pureBlack });
  if (press.colour === "cmyk") return { width, height, rgb: await seen(data, press) };
  const grey = new Uint8Array(rgb.length);
  for (let i = 0; i < data.length; i++) grey.fill(data[i] as number, 3 * i, 3 * i + 3);
  return { width, height, rgb: grey };
};

/** A page of RGB or grey, or the two passes of one of inks, as it would print; undefined when the renderer refuses it. */
export const viewOfPages = async (
  pages: readonly Uint8Array[],
  width: number,
  height: number,
  press: PressColour,
): Promise<View | undefined> => {
  const drawn: Uint8Array[] = [];
  for (const page of pages) {
    const one = await withPage(page, 0, (open) => drawPage(open, { width, height }).data);
    if ("refusal" in one) return undefined;
    drawn.push(one.value);
  }
  const [first, second] = drawn as [Uint8Array, Uint8Array | undefined];
  const pixels = width * height;
  if (!second) {
    const rgb = new Uint8Array(pixels * 3);
    for (let i = 0; i < pixels; i++) rgb.set(first.subarray(4 * i, 4 * i + 3), 3 * i);
    return { width, height, rgb };
  }
  const inks = new Uint8Array(pixels * 4);
  for (let i = 0; i < pixels; i++) {
    for (let ink = 0; ink < 3; ink++) inks[4 * i + ink] = 255 - (first[4 * i + ink] as number);
    inks[4 * i + 3] = 255 - (second[4 * i] as number);
  }
  return { width, height, rgb: await seen(inks, press) };
};

/** Inks as they look. */
const seen = (inks: Uint8Array, press: PressColour): Promise<Uint8Array> =>
  convert(inks, (outputProfile(press) as OutputProfile).bytes, srgb().bytes, "relative");
