import type { Outline } from "@kitforme/geometry";
import { type BleedCache, digestOf } from "./cache.ts";
import { type Frame, onCanvas, ringsOf } from "./frame.ts";
import { searchInWasm } from "./nearest-wasm.ts";
import { type PixelRing, rasterise } from "./raster.ts";
import type { PixelGrid } from "./request.ts";
import { isEmpty, minus, type Runs } from "./runs.ts";

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

interface KeptBand {
  readonly bytes: number;
  readonly target: Runs;
  readonly from: Int32Array;
}

const bandOf = (frame: Frame, rings: readonly PixelRing[], reach: readonly PixelRing[], guess: number) => {
  const { width, rows } = frame;
  const source = rasterise(rings, width, rows);
  const target = isEmpty(source) ? source : minus(rasterise(reach, width, rows), source);
  return { target, from: searchInWasm({ source, target, width, reach: guess, stride: width, offset: 0 }) };
};

/**
 * The band between parts and reach filled in place from the nearest pixel inside the parts, whatever those pixels are: for
 * artwork that is known to be sound up to its contour and a picture that covers the reach. No copy, no mask.
 * @param bleed how far the band goes out, µm; a guess will do, it is checked
 * @param cache with it, the same contour on the next picture costs one gather
 * @returns pixels written; 0 also when the parts hold no pixel
 */
export const fillBand = (
  grid: PixelGrid,
  parts: readonly Outline<"drawing">[],
  reach: readonly Outline<"drawing">[],
  bleed: number,
  cache?: BleedCache,
): number => {
  const { width, height } = grid;
  const stepX = grid.box.width / width;
  const stepY = grid.box.height / height;
  const frame = { width, rows: height, x: 0, y: 0, stepX, stepY, grid };
  const { x, y } = grid.box;
  const key = cache && ["fill", width, height, x, y, stepX, stepY, digestOf(parts), digestOf(reach)].join();
  let band = key ? cache.recall<KeptBand>(key) : undefined;
  if (!band) {
    const rings = onCanvas(frame, ringsOf(parts));
    const guess = Math.ceil(bleed / Math.min(stepX, stepY)) + 2;
    const made = bandOf(frame, rings, onCanvas(frame, ringsOf(reach)), guess);
    // Without a cache the map is used where it lies, in the search's own memory.
    const from = key ? made.from.slice() : made.from;
    const bytes = from.byteLength + made.target.ends.byteLength + made.target.start.byteLength;
    band = { bytes, target: made.target, from };
    if (key) cache.remember(key, band);
  }
  writeAll(grid, band.target, band.from);
  return band.from.length;
};
