import type { Outline } from "@kitforme/geometry";
import { onCanvas, ringsOf } from "./frame.ts";
import { nearestSpans, type SpanSink } from "./nearest.ts";
import { rasterise } from "./raster.ts";
import type { PixelGrid } from "./request.ts";
import { count, minus } from "./runs.ts";

/** Alpha's byte in the word of a four-channel pixel, as this machine orders bytes. */
const ALPHA_WORD = new Int32Array(new Uint8Array([0, 0, 0, 255]).buffer)[0] as number;

/** Writes values of sources into runs of the picture, alpha made full. One load and one store where a pixel is one word. */
const writerFor = (grid: PixelGrid): SpanSink => {
  const { channels, depth, data, width, alpha } = grid;
  if (channels * depth === 32 && data.byteOffset % 4 === 0) {
    const words = new Int32Array(data.buffer, data.byteOffset, width * grid.height);
    return wordWriter(words, width, alpha && depth === 8 ? ALPHA_WORD : 0);
  }
  const full = depth === 8 ? 255 : 65_535;
  return (y, from, n, sources, first) => {
    for (let k = 0, into = (y * width + from) * channels; k < n; k++, into += channels) {
      const source = (sources[first + k] as number) * channels;
      for (let c = 0; c < channels; c++) data[into + c] = data[source + c] as number;
      if (alpha) data[into + channels - 1] = full;
    }
  };
};

const wordWriter =
  (words: Int32Array, width: number, alpha: number): SpanSink =>
  (y, from, n, sources, first) => {
    const into = (Math.imul(y, width) + from) | 0;
    for (let k = 0; k < n; k = (k + 1) | 0) words[into + k] = (words[sources[first + k] as number] as number) | alpha;
  };

/**
 * The band between parts and reach filled in place from the nearest pixel inside the parts, whatever those pixels are: for
 * artwork that is known to be sound up to its contour and a picture that covers the reach. No copy, no mask.
 * @param bleed pixels-to-be-filled lie about this far out, µm
 * @returns pixels written; 0 also when the parts hold no pixel
 */
export const fillBand = (
  grid: PixelGrid,
  parts: readonly Outline<"drawing">[],
  reach: readonly Outline<"drawing">[],
  bleed: number,
): number => {
  const { width, height } = grid;
  const stepX = grid.box.width / width;
  const stepY = grid.box.height / height;
  const frame = { width, rows: height, x: 0, y: 0, stepX, stepY, grid };
  const source = rasterise(onCanvas(frame, ringsOf(parts)), width, height);
  const target = minus(rasterise(onCanvas(frame, ringsOf(reach)), width, height), source);
  if (source.ends.length === 0) return 0;
  const guess = Math.ceil(bleed / Math.min(stepX, stepY)) + 2;
  nearestSpans({ source, target, width, reach: guess, stride: width, offset: 0 }, writerFor(grid));
  return count(target);
};
