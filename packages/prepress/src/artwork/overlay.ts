import sharp, { type Sharp } from "sharp";

/**
 * Draws an SVG over an opaque raster and gives PNG bytes: for proofs. The SVG's root has a viewBox and no size; it is
 * stretched over the whole raster. Letters in it depend on the fonts of the machine: draw them as paths.
 *
 * @param rgba `width * height * 4` samples, rows from the top
 */
export async function overlay(rgba: Uint8Array, width: number, height: number, svg: string): Promise<Uint8Array> {
  return drawn(rgba, width, height, svg)
    .removeAlpha()
    .png({ compressionLevel: 6, adaptiveFiltering: false, palette: false })
    .toBuffer();
}

/** The same as samples: RGBA, rows from the top. */
export async function overlaid(rgba: Uint8Array, width: number, height: number, svg: string): Promise<Uint8Array> {
  return drawn(rgba, width, height, svg).ensureAlpha().raw().toBuffer();
}

const drawn = (rgba: Uint8Array, width: number, height: number, svg: string): Sharp => {
  // At density 96 librsvg takes 0.75 px of root size for one pixel (it counts px at 72 per inch), exactly.
  const root = svg.replace(
    /<svg\b/,
    `<svg width="${width * 0.75}" height="${height * 0.75}" preserveAspectRatio="none"`,
  );
  return sharp(rgba, { raw: { width, height, channels: 4 }, limitInputPixels: false }).composite([
    { input: Buffer.from(root), density: 96, limitInputPixels: false, left: 0, top: 0 },
  ]);
};
