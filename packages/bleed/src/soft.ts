// For photographs: a band pixel is the mean of 16 nearest-pixel colours around it, spread wider the farther it lies from its
// source, and not at all at the contour. Streaks that a noisy edge draws across the band go; flat colour stays flat. Measured
// on known-truth photographs: 4.59 against 4.92 (visible CIEDE2000); mirroring and inpainting lie between or behind.
import type { Frame } from "./frame.ts";
import { coloursOf, fullOf, blankValueOf, toByte } from "./gather.ts";
import { beforeRows } from "./nearest-map.ts";
import type { PixelGrid } from "./request.ts";
import type { Field, Ring } from "./ring.ts";
import { softMargin, TAPS, taps } from "./taps.ts";

const SIDE = 128;

/** Source indices of a square of the canvas, pixel by pixel; -1 where the field has none. */
class Patch {
  readonly #side: number;
  readonly from: Int32Array;
  x = 0;
  y = 0;

  constructor(margin: number) {
    this.#side = SIDE + 2 * margin;
    this.from = new Int32Array(this.#side * this.#side);
  }

  fill(field: Field, before: Int32Array, stride: number, offset: number, x: number, y: number): void {
    this.x = x;
    this.y = y;
    this.from.fill(-1);
    this.#copy(field.pixels, y, (row, from, to, first) => {
      const at = row * this.#side - x;
      const start = before[row + y] + first;
      for (let k = from; k < to; k++) this.from[at + k] = field.from[start + k];
    });
    this.#copy(field.source, y, (row, from, to) => {
      const at = row * this.#side - x;
      for (let k = from; k < to; k++) this.from[at + k] = (row + y) * stride + k + offset;
    });
  }

  /** Runs of the square; `first` added to a column counts from the first pixel of the set's row. */
  #copy(
    { rows, start, ends }: Field["pixels"],
    y: number,
    into: (row: number, from: number, to: number, first: number) => void,
  ): void {
    for (let row = Math.max(0, -y); row < this.#side && row + y < rows; row++) {
      let passed = 0;
      for (let i = start[row + y]; i < start[row + y + 1]; i += 2) {
        const a = ends[i];
        const b = ends[i + 1];
        const from = Math.max(a, this.x);
        const to = Math.min(b, this.x + this.#side);
        if (from < to) into(row, from, to, passed - a);
        passed += b - a;
      }
    }
  }

  at(x: number, y: number): number {
    const dx = x - this.x;
    const dy = y - this.y;
    if (dx < 0 || dy < 0 || dx >= this.#side || dy >= this.#side) return -1;
    return this.from[dy * this.#side + dx];
  }
}

/** Mean of the sources' colours as they look over white. */
const mean = (grid: PixelGrid, sources: Int32Array, values: Uint8Array, o: number): void => {
  const colours = coloursOf(grid);
  const { data, channels } = grid;
  const full = fullOf(grid);
  const blank = blankValueOf(grid) * (grid.depth === 16 ? 257 : 1);
  for (let c = 0; c < colours; c++) {
    let sum = 0;
    for (let k = 0; k < TAPS; k++) {
      const at = sources[k] * channels;
      const value = data[at + c];
      const alpha = grid.alpha ? data[at + colours] : full;
      sum += alpha === full ? value : blank + ((value - blank) * alpha) / full;
    }
    const value = Math.round(sum / TAPS);
    values[o + c] = grid.depth === 16 ? toByte(value) : value;
  }
};

/**
 * Softens the made pixels of a ring's values in place.
 * @param values as `gather` gives them
 * @param bleed pixels the ring goes out
 */
export const soften = (frame: Frame, ring: Ring, values: Uint8Array, bleed: number): void => {
  const { field } = ring;
  if (!field) return;
  const { grid } = frame;
  const stride = grid.width;
  const offset = frame.y * stride + frame.x;
  const margin = softMargin(bleed);
  const tap = taps();
  const sources = new Int32Array(TAPS);
  const patch = new Patch(margin);
  const before = beforeRows(ring.pixels);
  const fieldBefore = beforeRows(field.pixels);
  const colours = coloursOf(grid);
  const { start, ends, rows } = ring.pixels;
  for (let top = 0; top < rows; top += SIDE)
    for (let left = 0; left < frame.width; left += SIDE) {
      let filled = false;
      for (let y = top; y < Math.min(rows, top + SIDE); y++) {
        let at = before[y];
        for (let i = start[y]; i < start[y + 1]; i += 2) {
          const a = ends[i];
          const b = ends[i + 1];
          for (let x = Math.max(a, left); x < Math.min(b, left + SIDE); x++) {
            const from = ring.from[at + x - a];
            const own = y * stride + x + offset;
            if (from < 0 || from === own) continue;
            if (!filled) patch.fill(field, fieldBefore, stride, offset, left - margin, top - margin);
            filled = true;
            const gy = Math.floor(from / stride);
            const d = Math.hypot(x + frame.x - (from - gy * stride), y + frame.y - gy);
            for (let k = 0; k < TAPS; k++) {
              const near = patch.at(x + Math.round(d * tap.x[k]), y + Math.round(d * tap.y[k]));
              sources[k] = near < 0 ? from : near;
            }
            mean(grid, sources, values, (at + x - a) * colours);
          }
          at += b - a;
        }
      }
    }
};
