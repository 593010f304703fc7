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

const FINE = 3;
/** Fine pixels drawn at once. */
const MOST = 6_000_000;
/** Pixels to either side of a contour that are looked at: fringe is one wide, stacked layers reach into a second. */
const NEAR = 3;

/**
 * Draws a region, in whole pixels of the grid, at `scale` times its resolution, in the samples' colours and with alpha.
 * Undefined when it cannot.
 */
export type DrawFiner = (region: Crop, scale: number) => Promise<Samples | undefined>;

/**
 * Gives the pixels at the contours their pure colour, in place.
 *
 * @param box what the samples cover, drawing micrometres
 */
export async function purify(
  samples: Samples,
  box: Rect,
  contours: readonly Contour<"drawing">[],
  finer: DrawFiner,
): Promise<void> {
  if (!samples.alpha) return;
  const { width, height } = samples;
  const near = nearContours(samples, box, contours);
  const rows = Math.max(1, Math.floor(MOST / (FINE * FINE * (width + 2))));
  for (let top = 0; top < height; top += rows) {
    const edge = edgeIn(samples, near, top, Math.min(height, top + rows));
    if (edge.pixels.length === 0) continue;
    const left = Math.max(0, edge.left - 1);
    const above = Math.max(0, edge.top - 1);
    const region: Crop = {
      left,
      top: above,
      width: Math.min(width, edge.right + 2) - left,
      height: Math.min(height, edge.bottom + 2) - above,
    };
    const fine = await finer(region, FINE);
    if (fine) recolour(samples, edge.pixels, fine, region);
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

interface Edge {
  readonly pixels: readonly number[];
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** Pixels near a contour that are painted and not clear of the edge of paint. */
const edgeIn = (samples: Samples, near: Uint8Array, from: number, to: number): Edge => {
  const { width } = samples;
  const pixels: number[] = [];
  let [left, top, right, bottom] = [width, to, 0, from];
  for (let y = from; y < to; y++)
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      if (near[at] === 0 || alphaAt(samples, x, y) === 0 || isClear(samples, x, y)) continue;
      pixels.push(at);
      left = Math.min(left, x);
      right = Math.max(right, x);
      top = Math.min(top, y);
      bottom = y;
    }
  return { pixels, left, top, right, bottom };
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
