import type { PixelGrid } from "@kitforme/bleed";

/** Less of a page than this lies over its bleed unseen, square µm: the edge of what is drawn. */
const SEEN = 100_000;

/**
 * Whether a page paints over the bleed that was made for it: a white card that ends beyond the cut, or a neighbour's picture that is not
 * joined to this one. Shown on top it would hide the bleed.
 *
 * @param flattened the picture with its bleed, on the raster of `page` moved by whole pixels
 */
export const hidesBleed = (flattened: PixelGrid, page: PixelGrid): boolean => {
  const inks = flattened.channels;
  const left = Math.round(((flattened.box.x - page.box.x) / page.box.width) * page.width);
  const top = Math.round(((flattened.box.y - page.box.y) / page.box.height) * page.height);
  const most = (SEEN * page.width * page.height) / (page.box.width * page.box.height);
  let hidden = 0;
  for (let y = Math.max(0, -top); y < Math.min(flattened.height, page.height - top); y++)
    for (let x = Math.max(0, -left); x < Math.min(flattened.width, page.width - left); x++) {
      const at = ((y + top) * page.width + x + left) * page.channels;
      if (page.data[at + inks] !== 255) continue;
      const shown = (y * flattened.width + x) * inks;
      for (let c = 0; c < inks; c++)
        if (page.data[at + c] !== flattened.data[shown + c]) {
          if (++hidden > most) return true;
          break;
        }
    }
  return false;
};
