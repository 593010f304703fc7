// The contours of the bench on pictures of 300 and 600 ppi.
import { grow, type Outline } from "@kitforme/geometry";
import { minusRuns, nearest, type PixelGrid, rasterise, type Runs } from "@kitforme/bleed";
import { BLEED, CANVAS, random } from "./contours.ts";

export interface Canvas {
  readonly grid: PixelGrid;
  readonly parts: readonly Outline<"drawing">[];
  readonly reach: readonly Outline<"drawing">[];
}

/** A picture of 203.2 x 254 mm with noise in it, RGBA. */
export const pictureAt = (ppi: number): PixelGrid => {
  const [width, height] = [ppi * 8, ppi * 10];
  const data = new Uint8Array(width * height * 4).fill(200);
  const rand = random(ppi);
  for (let i = 0; i < data.length; i += 61) data[i] = Math.floor(rand() * 256);
  for (let i = 3; i < data.length; i += 4) data[i] = 255;
  return { width, height, channels: 4, depth: 8, data, alpha: true, box: CANVAS };
};

export const canvasOf = (outline: Outline<"drawing">, ppi: number): Canvas => ({
  grid: pictureAt(ppi),
  parts: [outline],
  reach: grow([outline], BLEED),
});

const setOf = ({ grid }: Canvas, outlines: readonly Outline<"drawing">[]): Runs =>
  rasterise(
    outlines
      .flatMap(({ outer, openings }) => [outer, ...openings])
      .map((ring) =>
        Float64Array.from(
          ring.flatMap(({ x, y }) => [(x / CANVAS.width) * grid.width, (y / CANVAS.height) * grid.height]),
        ),
      ),
    grid.width,
    grid.height,
  );

/** Sources and targets as sets, and our source of every target pixel. */
export const setsOf = (canvas: Canvas): { source: Runs; target: Runs; from: Int32Array } => {
  const { grid, parts, reach } = canvas;
  const source = setOf(canvas, parts);
  const target = minusRuns(setOf(canvas, reach), source);
  const guess = Math.ceil((BLEED / CANVAS.width) * grid.width) + 2;
  const { from } = nearest({ source, target, width: grid.width, reach: guess, stride: grid.width, offset: 0 });
  return { source, target, from };
};
