// Pure colour at the cut. Renderers smooth every shape by itself: where a drawing is clipped to its outline, each layer of it
// leaves a share of its colour in the pixels of the edge. Navy under cream gave a dashed line of navy along the cut, and
// streaks of it through the whole bleed, from pixels that were opaque and yet a tenth navy. So the pixels at the contour take
// their colour from a drawing three times as fine, from those of its pixels that lie clear of every edge of paper:
//
//   one pixel, in three times three   # clear: opaque, and so are its eight neighbours
//     . : #                           : edge
//     : # #                           . nothing
//     # # #        colour: the mean of #; without any, that of the # in the eight pixels around
//                    alpha: as it was
import type { Contour, Rect } from "@kitforme/geometry";
import { INKS, type Samples } from "../colour/samples.ts";
import type { Crop } from "./crop.ts";
import { patchesOf } from "./patches.ts";

const FINE = 3;
/** Side of a cell, pixels: what is drawn finer is boxes of cells. */
const CELL = 16;
/** Cells drawn at once: 6 million fine pixels. */
const MOST = 6_000_000 / (FINE * CELL) ** 2;
/** What a call for a finer drawing costs beyond its pixels, in cells, at the least: 3 ms. */
const CALL = 80;
/** Pixels to either side of a contour that are looked at: fringe is one wide, stacked layers reach into a second. */
const NEAR = 3;

export interface Finer {
  /**
   * Draws a region, in whole pixels of the grid, at `scale` times its resolution, in the samples' colours and with alpha.
   * Undefined when it cannot.
   */
  readonly draw: (region: Crop, scale: number) => Promise<Samples | undefined>;
  /** Bytes of the file that every call reads anew. 4 MB of shapes take 2 seconds, as long as 15 million pixels. */
  readonly bytes: number;
}

/**
 * Gives the pixels at the contours their pure colour, in place.
 *
 * @param box what the samples cover, drawing micrometres
 */
export async function purify(
  samples: Samples,
  box: Rect,
  contours: readonly Contour<"drawing">[],
  finer: Finer,
): Promise<void> {
  if (!samples.alpha) return;
  const { width, height } = samples;
  const columns = Math.ceil(width / CELL);
  const rows = Math.ceil(height / CELL);
  const edge = edgeOf(samples, nearContours(samples, box, contours), columns);
  const wanted = Uint8Array.from({ length: columns * rows }, (_, cell) => (edge.has(cell) ? 1 : 0));
  const patch = CALL + (4 * finer.bytes) / CELL ** 2;
  for (const { left, top, right, bottom } of patchesOf({ columns, wanted }, { patch, most: MOST })) {
    const x = Math.max(0, left * CELL - 1);
    const y = Math.max(0, top * CELL - 1);
    const region: Crop = {
      left: x,
      top: y,
      width: Math.min(width, right * CELL + 1) - x,
      height: Math.min(height, bottom * CELL + 1) - y,
    };
    const fine = await finer.draw(region, FINE);
    if (!fine) continue;
    for (let row = top; row < bottom; row++)
      for (let column = left; column < right; column++)
        recolour(samples, edge.get(row * columns + column) ?? [], fine, region);
  }
}

/** Marks the pixels near a contour. */
const nearContours = ({ width, height }: Samples, box: Rect, contours: readonly Contour<"drawing">[]): Uint8Array => {
  const near = new Uint8Array(width * height);
  const [perX, perY] = [width / box.width, height / box.height];
  const mark = (x: number, y: number): void => {
    const [x0, x1] = [Math.max(0, x - NEAR), Math.min(width, x + NEAR + 1)];
    if (x1 <= x0) return;
    for (let row = Math.max(0, y - NEAR); row < Math.min(height, y + NEAR + 1); row++)
      near.fill(1, row * width + x0, row * width + x1);
  };
  for (const contour of contours)
    for (const [i, a] of contour.entries()) {
      const b = contour[(i + 1) % contour.length] as typeof a;
      const [ax, ay] = [(a.x - box.x) * perX, (a.y - box.y) * perY];
      const [bx, by] = [(b.x - box.x) * perX, (b.y - box.y) * perY];
      const steps = Math.max(1, Math.ceil(Math.max(Math.abs(bx - ax), Math.abs(by - ay)) / 2));
      for (let step = 0; step < steps; step++)
        mark(Math.floor(ax + ((bx - ax) * step) / steps), Math.floor(ay + ((by - ay) * step) / steps));
    }
  return near;
};

/** Pixels near a contour that are painted and not clear of the edge of paint, by cells. */
const edgeOf = (samples: Samples, near: Uint8Array, columns: number): Map<number, number[]> => {
  const { width } = samples;
  const cells = new Map<number, number[]>();
  for (let at = near.indexOf(1); at >= 0; at = near.indexOf(1, at + 1)) {
    const x = at % width;
    const y = Math.floor(at / width);
    if (alphaAt(samples, x, y) === 0 || isClear(samples, x, y)) continue;
    const cell = Math.floor(y / CELL) * columns + Math.floor(x / CELL);
    const pixels = cells.get(cell);
    if (pixels) pixels.push(at);
    else cells.set(cell, [at]);
  }
  return cells;
};

const alphaAt = ({ width, space, data }: Samples, x: number, y: number): number => {
  const inks = INKS[space];
  return data[(y * width + x) * (inks + 1) + inks] as number;
};

/** Opaque, like all around it; what lies beyond the samples is taken for opaque. */
const isClear = (samples: Samples, x: number, y: number): boolean => {
  for (let row = Math.max(0, y - 1); row <= Math.min(samples.height - 1, y + 1); row++)
    for (let column = Math.max(0, x - 1); column <= Math.min(samples.width - 1, x + 1); column++)
      if (alphaAt(samples, column, row) !== 255) return false;
  return true;
};

const recolour = (samples: Samples, pixels: readonly number[], fine: Samples, region: Crop): void => {
  const inks = INKS[samples.space];
  for (const pixel of pixels) {
    const x = ((pixel % samples.width) - region.left) * FINE;
    const y = (Math.floor(pixel / samples.width) - region.top) * FINE;
    const pure = meanOfClear(fine, x, y, FINE) ?? meanOfClear(fine, x - FINE, y - FINE, 3 * FINE);
    if (pure) samples.data.set(pure, pixel * (inks + 1));
  }
};

/** Mean colour of the clear pixels in a square. */
const meanOfClear = (fine: Samples, x0: number, y0: number, side: number): readonly number[] | undefined => {
  const inks = INKS[fine.space];
  const sums = Array.from({ length: inks }, () => 0);
  let count = 0;
  for (let y = Math.max(0, y0); y < Math.min(fine.height, y0 + side); y++)
    for (let x = Math.max(0, x0); x < Math.min(fine.width, x0 + side); x++) {
      if (!isClear(fine, x, y)) continue;
      const at = (y * fine.width + x) * (inks + 1);
      for (let ink = 0; ink < inks; ink++) sums[ink] = (sums[ink] as number) + (fine.data[at + ink] as number);
      count++;
    }
  return count === 0 ? undefined : sums.map((sum) => Math.round(sum / count));
};
