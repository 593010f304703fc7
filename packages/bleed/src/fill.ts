import type { Outline } from "@kitforme/geometry";
import { type BandSink, eachOfBand } from "./band-wasm.ts";
import type { BleedCache } from "./cache.ts";
import { ringsOf } from "./frame.ts";
import type { Segments } from "./nearest-wasm.ts";
import type { PixelGrid } from "./request.ts";
import { count, type Runs } from "./runs.ts";

/** Alpha's byte in the word of a four-channel pixel, as this machine orders bytes. */
const ALPHA_WORD = new Int32Array(new Uint8Array([0, 0, 0, 255]).buffer)[0];

/** Writes the value of its source into every target pixel of the picture, alpha made full. One load a segment and one store
 * a pixel where a pixel is one word. */
const writerOf = ({ channels, depth, data, width, height, alpha }: PixelGrid): BandSink => {
  if (channels === 4 && depth === 8 && data.byteOffset % 4 === 0) {
    const words = new Int32Array(data.buffer, data.byteOffset, width * height);
    const full = alpha ? ALPHA_WORD : 0;
    return (target, segments, fromRow, toRow) => writeWords(words, width, full, target, segments, fromRow, toRow);
  }
  const full = alpha ? (depth === 8 ? 255 : 65_535) : -1;
  return (target, segments, fromRow, toRow) =>
    writeValues(data, channels, width, full, target, segments, fromRow, toRow);
};

const writeWords = (
  words: Int32Array,
  width: number,
  alpha: number,
  { start, ends }: Runs,
  segments: Segments,
  fromRow: number,
  toRow: number,
): void => {
  let segment = 0;
  for (let y = fromRow; y < toRow; y++) {
    const row = Math.imul(y, width);
    const last = start[y + 1];
    for (let i = start[y]; i < last; i += 2) {
      const end = (row + ends[i + 1]) | 0;
      for (let at = (row + ends[i]) | 0; at < end; segment = (segment + 2) | 0) {
        const to = segments[segment];
        const word = words[segments[segment + 1]] | alpha;
        for (; at < to; at = (at + 1) | 0) words[at] = word;
      }
    }
  }
};

const writeValues = (
  data: Uint8Array | Uint16Array,
  channels: number,
  width: number,
  full: number,
  { start, ends }: Runs,
  segments: Segments,
  fromRow: number,
  toRow: number,
): void => {
  let segment = 0;
  for (let y = fromRow; y < toRow; y++)
    for (let i = start[y]; i < start[y + 1]; i += 2) {
      const end = y * width + ends[i + 1];
      for (let at = y * width + ends[i]; at < end; segment += 2) {
        const to = segments[segment];
        const source = segments[segment + 1] * channels;
        for (; at < to; at++) {
          const into = at * channels;
          for (let c = 0; c < channels; c++) data[into + c] = data[source + c];
          if (full > 0) data[into + channels - 1] = full;
        }
      }
    }
};

interface KeptBand {
  readonly bytes: number;
  readonly target: Runs;
  readonly segments: Segments;
  readonly pixels: number;
}

/** Collects a band to be kept. */
class Keeper {
  readonly #portions: Segments[] = [];
  #target: Runs | undefined;

  take(target: Runs, segments: Segments): void {
    this.#target ??= { rows: target.rows, start: target.start.slice(), ends: target.ends.slice() };
    this.#portions.push(segments.slice());
  }

  band(): KeptBand | undefined {
    const target = this.#target;
    if (!target) return undefined;
    const segments = new Int32Array(this.#portions.reduce((sum, { length }) => sum + length, 0));
    let at = 0;
    for (const portion of this.#portions) {
      segments.set(portion, at);
      at += portion.length;
    }
    const bytes = segments.byteLength + target.ends.byteLength + target.start.byteLength;
    return { bytes, target, segments, pixels: count(target) };
  }
}

/**
 * The band between parts and reach filled in place from the nearest pixel inside the parts, whatever those pixels are: for
 * a picture that is known to be sound up to the contour and that covers the reach. No copy, no mask.
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
  const { x, y } = grid.box;
  const key = cache && ["fill", width, height, x, y, stepX, stepY, cache.digestOf(parts), cache.digestOf(reach)].join();
  const write = writerOf(grid);
  const known = key && cache.recall<KeptBand>(key);
  if (known) {
    write(known.target, known.segments, 0, height);
    return known.pixels;
  }
  const keeper = key ? new Keeper() : undefined;
  const raster = { width, rows: height, x: 0, y: 0, stepX, stepY, grid };
  const guess = Math.ceil(bleed / Math.min(stepX, stepY)) + 2;
  const filled = eachOfBand(raster, ringsOf(parts), ringsOf(reach), guess, (target, segments, fromRow, toRow) => {
    keeper?.take(target, segments);
    write(target, segments, fromRow, toRow);
  });
  const band = keeper?.band();
  if (key && band) cache.remember(key, band);
  return filled;
};
