import { sharp } from "../sharp.ts";

// One setting for every PNG we write: filters and level decide the bytes. No time stamp, no profile, no density.
const PNG = { compressionLevel: 6, adaptiveFiltering: false, palette: false } as const;

/**
 * PNG bytes of 8-bit samples, rows from the top, no padding; same samples, same bytes.
 *
 * @param channels 1 grey, 3 RGB, 4 RGBA with straight alpha
 */
export async function encodePng(
  data: Uint8Array,
  width: number,
  height: number,
  channels: 1 | 3 | 4,
): Promise<Uint8Array> {
  const image = sharp(data, { raw: { width, height, channels }, limitInputPixels: false });
  return (channels === 1 ? image.toColourspace("b-w") : image).png(PNG).toBuffer();
}
