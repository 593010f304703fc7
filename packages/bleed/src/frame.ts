import type { Contour, Outline, Point, Rect } from "@kitforme/geometry";
import type { PixelRing } from "./raster.ts";
import type { PixelGrid } from "./request.ts";
import { type Runs, rectangle } from "./runs.ts";

/** The canvas of one region: the pixels that its reach covers, on the raster of the picture and past it where it ends. */
export interface Frame {
  readonly width: number;
  readonly rows: number;
  /** Pixel of the picture that is the canvas's first; may be negative. */
  readonly x: number;
  readonly y: number;
  /** µm a pixel. */
  readonly stepX: number;
  readonly stepY: number;
  readonly grid: PixelGrid;
}

/** Pixels of air around the reach: the ring runs one past it, and brushes look one further. */
const AIR = 2;

/** @param more pixels of air beyond the usual */
export const frameOf = (grid: PixelGrid, reach: readonly Outline<"drawing">[], more = 0): Frame => {
  const air = AIR + more;
  const stepX = grid.box.width / grid.width;
  const stepY = grid.box.height / grid.height;
  let x0 = Number.POSITIVE_INFINITY;
  let y0 = Number.POSITIVE_INFINITY;
  let x1 = Number.NEGATIVE_INFINITY;
  let y1 = Number.NEGATIVE_INFINITY;
  for (const { outer } of reach)
    for (const { x, y } of outer) {
      x0 = Math.min(x0, x);
      y0 = Math.min(y0, y);
      x1 = Math.max(x1, x);
      y1 = Math.max(y1, y);
    }
  const left = Math.floor((x0 - grid.box.x) / stepX) - air;
  const top = Math.floor((y0 - grid.box.y) / stepY) - air;
  return {
    width: Math.ceil((x1 - grid.box.x) / stepX) + air - left,
    rows: Math.ceil((y1 - grid.box.y) / stepY) + air - top,
    x: left,
    y: top,
    stepX,
    stepY,
    grid,
  };
};

/** All rings of outlines, outer and openings alike: even-odd tells them apart. */
export const ringsOf = (outlines: readonly Outline<"drawing">[]): Contour<"drawing">[] =>
  outlines.flatMap(({ outer, openings }) => [outer, ...openings]);

/** What of a frame places points. */
export type Raster = Pick<Frame, "width" | "rows" | "x" | "y" | "stepX" | "stepY"> & {
  readonly grid: Pick<PixelGrid, "box">;
};

/** A ring from drawing µm to pixels of the canvas, x and y by turns from `into[at]`; answers the place after its last. */
export const placePoints = (frame: Raster, ring: Contour<"drawing">, into: Float64Array, at: number): number => {
  const { stepX, stepY, grid, x: column, y: row } = frame;
  // The same sums in another order would round otherwise, and a contour on pixel centres then takes or leaves a whole row.
  const left = grid.box.x;
  const top = grid.box.y;
  for (let i = 0; i < ring.length; i++, at += 2) {
    const { x, y } = ring[i] as Point<"drawing">;
    into[at] = (x - left) / stepX - column;
    into[at + 1] = (y - top) / stepY - row;
  }
  return at;
};

/** Rings from drawing µm to pixels of the canvas. */
export const onCanvas = (frame: Raster, rings: readonly Contour<"drawing">[]): PixelRing[] =>
  rings.map((ring) => {
    const out = new Float64Array(2 * ring.length);
    placePoints(frame, ring, out, 0);
    return out;
  });

/** A rectangle of canvas pixels in drawing µm. */
export const boxOf = (frame: Frame, x: number, y: number, width: number, height: number): Rect => ({
  x: frame.grid.box.x + (frame.x + x) * frame.stepX,
  y: frame.grid.box.y + (frame.y + y) * frame.stepY,
  width: width * frame.stepX,
  height: height * frame.stepY,
});

/** The canvas pixels that the picture has. */
export const pictured = (frame: Frame): Runs =>
  rectangle(
    frame.rows,
    Math.max(0, -frame.x),
    -frame.y,
    Math.min(frame.width, frame.grid.width - frame.x),
    frame.grid.height - frame.y,
  );

/** Index in the picture of the canvas's pixel (0, 0); the stride is the picture's width. */
export const originOf = (frame: Frame): number => frame.y * frame.grid.width + frame.x;

/** µm to pixels of the finer axis, whole, upwards. */
export const pixels = (frame: Frame, um: number): number => Math.ceil(um / Math.min(frame.stepX, frame.stepY));
