import { boxOf, type Frame } from "./frame.ts";
import { beforeRows } from "./nearest-map.ts";
import type { Tile } from "./request.ts";
import type { Ring } from "./ring.ts";

/** Side of a tile: 64 px makes so many objects that the file suffers, 256 px carries three times the filler. */
const SIDE = 128;
/** Tiles reach this far over their right and lower neighbours: edges that only meet show a hairline. */
const OVERLAP = 2;

/** Values of the ring's pixels, 8 bits, without alpha: `colours` values a pixel, in the order of the runs. */
export type RingValues = Uint8Array;

interface Area {
  readonly x0: number;
  readonly x1: number;
  readonly y0: number;
  readonly y1: number;
}

/** What of a tile's square the ring fills. */
const extentOf = (ring: Ring, tile: Area): Area | undefined => {
  const { start, ends } = ring.pixels;
  let x0 = tile.x1;
  let x1 = tile.x0;
  let y0 = -1;
  let y1 = -1;
  for (let y = tile.y0; y < tile.y1; y++)
    for (let i = start[y]; i < start[y + 1]; i += 2) {
      const from = Math.max(tile.x0, ends[i]);
      const to = Math.min(tile.x1, ends[i + 1]);
      if (from >= to) continue;
      if (y0 < 0) y0 = y;
      y1 = y + 1;
      x0 = Math.min(x0, from);
      x1 = Math.max(x1, to);
    }
  return y0 < 0 ? undefined : { x0, x1, y0, y1 };
};

/** The ring's pixels of a rectangle. What lies between them is never seen at full size; it repeats its neighbour so that a
 * reduced view mixes no white into the edge, and packs to nothing. */
const pixelsIn = (ring: Ring, before: Int32Array, values: RingValues, colours: number, part: Area): Uint8Array => {
  const { start, ends } = ring.pixels;
  const width = part.x1 - part.x0;
  const data = new Uint8Array(width * (part.y1 - part.y0) * colours);
  for (let y = part.y0; y < part.y1; y++) {
    const row = (y - part.y0) * width * colours;
    let filled = part.x0;
    let at = before[y];
    for (let i = start[y]; i < start[y + 1]; i += 2) {
      const first = ends[i];
      const from = Math.max(part.x0, first);
      const to = Math.min(part.x1, ends[i + 1]);
      if (from < to) {
        const place = (at + from - first) * colours;
        data.set(values.subarray(place, place + (to - from) * colours), row + (from - part.x0) * colours);
        const left = filled === part.x0 ? from : filled;
        for (let x = filled; x < from; x++)
          for (let c = 0; c < colours; c++)
            data[row + (x - part.x0) * colours + c] =
              data[row + ((left === from ? from : left - 1) - part.x0) * colours + c];
        filled = to;
      }
      at += ends[i + 1] - first;
    }
    if (filled === part.x0) {
      if (y > part.y0) data.copyWithin(row, row - width * colours, row);
    } else for (let k = (filled - part.x0) * colours; k < width * colours; k++) data[row + k] = data[row + k - colours];
  }
  return data;
};

/** The ring in tiles: only squares that hold some of it, clipped to what they hold. */
export const tilesOf = (frame: Frame, ring: Ring, values: RingValues, colours: number): Tile[] => {
  const { rows } = ring.pixels;
  const before = beforeRows(ring.pixels);
  const tiles: Tile[] = [];
  for (let y = 0; y < rows; y += SIDE)
    for (let x = 0; x < frame.width; x += SIDE) {
      const square = { x0: x, x1: Math.min(frame.width, x + SIDE), y0: y, y1: Math.min(rows, y + SIDE) };
      if (!extentOf(ring, square)) continue;
      const wide = {
        ...square,
        x1: Math.min(frame.width, square.x1 + OVERLAP),
        y1: Math.min(rows, square.y1 + OVERLAP),
      };
      const part = extentOf(ring, wide) as Area;
      const width = part.x1 - part.x0;
      const height = part.y1 - part.y0;
      tiles.push({
        box: boxOf(frame, part.x0, part.y0, width, height),
        width,
        height,
        data: pixelsIn(ring, before, values, colours, part),
      });
    }
  return tiles;
};
