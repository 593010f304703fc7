import type { Outline } from "@kitforme/geometry";
import { onCanvas, ringsOf } from "./frame.ts";
import { searchInWasm } from "./nearest-wasm.ts";
import { rasterise } from "./raster.ts";
import type { PixelGrid } from "./request.ts";
import { count, minus, type Runs } from "./runs.ts";

/** Alpha's byte in the word of a four-channel pixel, as this machine orders bytes. */
const ALPHA_WORD = new Int32Array(new Uint8Array([0, 0, 0, 255]).buffer)[0] as number;

/** Writes the value of its source into every target pixel of the picture, alpha made full. One load and one store where a
 * pixel is one word. */
const writeAll = (grid: PixelGrid, target: Runs, from: Int32Array): void => {
  const { channels, depth, data, width, alpha } = grid;
  if (channels === 4 && depth === 8 && data.byteOffset % 4 === 0) {
    const words = new Int32Array(data.buffer, data.byteOffset, width * grid.height);
    writeWords(words, width, alpha ? ALPHA_WORD : 0, target, from);
  } else writeValues(data, channels, width, alpha ? (depth === 8 ? 255 : 65_535) : -1, target, from);
};

const writeWords = (
  words: Int32Array,
  width: number,
  alpha: number,
  { start, ends, rows }: Runs,
  from: Int32Array,
): void => {
  let at = 0;
  for (let y = 0; y < rows; y++) {
    const end = start[y + 1] as number;
    for (let i = start[y] as number; i < end; i += 2) {
      const to = (Math.imul(y, width) + (ends[i + 1] as number)) | 0;
      for (let x = (Math.imul(y, width) + (ends[i] as number)) | 0; x < to; x = (x + 1) | 0) {
        words[x] = (words[from[at] as number] as number) | alpha;
        at = (at + 1) | 0;
      }
    }
  }
};

const writeValues = (
  data: Uint8Array | Uint16Array,
  channels: number,
  width: number,
  full: number,
  { start, ends, rows }: Runs,
  from: Int32Array,
): void => {
  let at = 0;
  for (let y = 0; y < rows; y++)
    for (let i = start[y] as number; i < (start[y + 1] as number); i += 2)
      for (let x = ends[i] as number; x < (ends[i + 1] as number); x++) {
        const into = (y * width + x) * channels;
        const source = (from[at++] as number) * channels;
        for (let c = 0; c < channels; c++) data[into + c] = data[source + c] as number;
        if (full > 0) data[into + channels - 1] = full;
      }
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
  writeAll(grid, target, searchInWasm({ source, target, width, reach: guess, stride: width, offset: 0 }));
  return count(target);
};
