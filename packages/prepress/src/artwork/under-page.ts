import type { PixelGrid, Tile } from "@kitforme/bleed";
import { overPaper } from "./over-paper.ts";

const SIDE = 128;
/** Tiles reach this far over their right and lower neighbours: edges that only meet show a hairline. */
const OVERLAP = 2;

/**
 * What of a bled picture the page on top of it does not paint by itself: the tiles where the flattened picture differs from
 * the page on paper.
 *
 * @param flattened the picture with its bleed, on the raster of `page` moved by whole pixels
 */
export const tilesUnder = (flattened: PixelGrid, page: PixelGrid): Tile[] => {
  const plain = overPaper(page);
  const inks = flattened.channels;
  const paper = inks === 4 ? 0 : 255;
  const left = Math.round(((flattened.box.x - page.box.x) / page.box.width) * page.width);
  const top = Math.round(((flattened.box.y - page.box.y) / page.box.height) * page.height);
  /** Whether anything between these edges of the flattened picture is not what the page shows there; beyond the page is paper. */
  const differIn = (x0: number, y0: number, x1: number, y1: number): boolean => {
    const [shown, drawn] = [flattened.data, plain.data];
    const [inner, outer] = [Math.min(x1, Math.max(x0, -left)), Math.max(x0, Math.min(x1, page.width - left))];
    for (let y = y0; y < y1; y++) {
      const py = y + top;
      const row = y * flattened.width * inks;
      const beside = py < 0 || py >= page.height || inner >= outer;
      const [first, last] = beside ? [x1, x1] : [inner, outer];
      for (let at = row + x0 * inks, end = row + first * inks; at < end; at++) if (shown[at] !== paper) return true;
      let from = (py * page.width + first + left) * inks;
      for (let at = row + first * inks, end = row + last * inks; at < end; at++, from++)
        if (shown[at] !== drawn[from]) return true;
      for (let at = row + last * inks, end = row + x1 * inks; at < end; at++) if (shown[at] !== paper) return true;
    }
    return false;
  };
  const tiles: Tile[] = [];
  for (let y = 0; y < flattened.height; y += SIDE)
    for (let x = 0; x < flattened.width; x += SIDE) {
      const right = Math.min(flattened.width, x + SIDE + OVERLAP);
      const bottom = Math.min(flattened.height, y + SIDE + OVERLAP);
      if (differIn(x, y, right, bottom)) tiles.push(tileOf(flattened, x, y, right - x, bottom - y));
    }
  return tiles;
};

const tileOf = (grid: PixelGrid, x: number, y: number, width: number, height: number): Tile => {
  const data = new Uint8Array(width * height * grid.channels);
  for (let row = 0; row < height; row++) {
    const from = ((y + row) * grid.width + x) * grid.channels;
    data.set(grid.data.subarray(from, from + width * grid.channels), row * width * grid.channels);
  }
  const stepX = grid.box.width / grid.width;
  const stepY = grid.box.height / grid.height;
  const box = { x: grid.box.x + x * stepX, y: grid.box.y + y * stepY, width: width * stepX, height: height * stepY };
  return { box, width, height, data };
};
