import { sharp } from "../sharp.ts";

/**
 * Draws an SVG over an opaque raster: RGBA, rows from the top. The SVG's root has a viewBox and no size; it is stretched over
 * the whole raster. Letters in it depend on the fonts of the machine: draw them as paths.
 *
 * @param rgba `width * height * 4` samples, rows from the top
 */
export async function overlaid(rgba: Uint8Array, width: number, height: number, svg: string): Promise<Uint8Array> {
  return sharp(rgba, { raw: { width, height, channels: 4 }, limitInputPixels: false })
    .composite([{ input: sized(svg, width, height), ...AS_SIZED, left: 0, top: 0 }])
    .ensureAlpha()
    .raw()
    .toBuffer();
}

/** The same on nothing: RGBA of straight alpha, to be laid over several rasters. */
export async function drawSvg(svg: string, width: number, height: number): Promise<Uint8Array> {
  return sharp(sized(svg, width, height), AS_SIZED)
    .ensureAlpha()
    .raw()
    .toBuffer();
}

const AS_SIZED = { density: 96, limitInputPixels: false } as const;

/** At density 96 librsvg takes 0.75 px of root size for one pixel (it counts px at 72 per inch), exactly. */
const sized = (svg: string, width: number, height: number): Buffer =>
  Buffer.from(
    svg.replace(/<svg\b/, `<svg width="${width * 0.75}" height="${height * 0.75}" preserveAspectRatio="none"`),
  );

/** Opaque pixels made smaller: RGBA in, RGB out, rows from the top. */
export async function reduced(
  rgba: { readonly data: Uint8Array; readonly width: number; readonly height: number },
  width: number,
  height: number,
): Promise<Uint8Array> {
  const raw = { width: rgba.width, height: rgba.height, channels: 4 } as const;
  return sharp(rgba.data, { raw, limitInputPixels: false })
    .removeAlpha()
    .resize(width, height, { fit: "fill" })
    .raw()
    .toBuffer();
}
