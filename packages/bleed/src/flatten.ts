import { boxOf, type Frame, pictured } from "./frame.ts";
import { coloursOf, blankValueOf, toByte } from "./gather.ts";
import type { PixelGrid } from "./request.ts";
import type { Ring } from "./ring.ts";
import { intersect } from "./runs.ts";

/** The picture over white: 8 bits, no alpha, the canvas's pixels. */
const overWhite = (frame: Frame): Uint8Array => {
  const { grid } = frame;
  const { channels, data } = grid;
  const colours = coloursOf(grid);
  const blank = blankValueOf(grid);
  const full = grid.depth === 8 ? 255 : 65_535;
  const out = new Uint8Array(frame.width * frame.rows * colours).fill(blank);
  const deep = grid.depth === 16;
  const x0 = Math.max(0, -frame.x);
  const x1 = Math.min(frame.width, grid.width - frame.x);
  const y1 = Math.min(frame.rows, grid.height - frame.y);
  for (let y = Math.max(0, -frame.y); y < y1; y++) {
    let at = ((y + frame.y) * grid.width + x0 + frame.x) * channels;
    let o = (y * frame.width + x0) * colours;
    for (let x = x0; x < x1; x++, at += channels, o += colours) {
      const alpha = data[at + colours];
      if (alpha === 0) continue;
      for (let c = 0; c < colours; c++) {
        const value = deep ? toByte(data[at + c]) : data[at + c];
        out[o + c] = alpha === full ? value : Math.round((value * alpha + blank * (full - alpha)) / full);
      }
    }
  }
  return out;
};

/** Lays a partly transparent pixel over the colour that the ring has there. */
const over = (grid: PixelGrid, at: number, out: Uint8Array, o: number): void => {
  const colours = coloursOf(grid);
  const full = grid.depth === 8 ? 255 : 65_535;
  const alpha = grid.data[at + colours];
  if (alpha === 0) return;
  for (let c = 0; c < colours; c++) {
    const value = grid.depth === 16 ? toByte(grid.data[at + c]) : grid.data[at + c];
    out[o + c] = Math.round((value * alpha + out[o + c] * (full - alpha)) / full);
  }
};

/**
 * The whole region as one opaque picture: what is drawn, and the ring. Inside the contour, partly transparent edge pixels are
 * laid over the ring; beyond it they are fringe and give way.
 * @param values the ring's colours in the order of its runs
 */
export const flattened = (frame: Frame, ring: Ring, values: Uint8Array): PixelGrid => {
  const { grid } = frame;
  const colours = coloursOf(grid);
  const out = overWhite(frame);
  const { start, ends, rows } = ring.pixels;
  let from = 0;
  for (let y = 0; y < rows; y++)
    for (let i = start[y]; i < start[y + 1]; i += 2) {
      const n = (ends[i + 1] - ends[i]) * colours;
      out.set(values.subarray(from, from + n), (y * frame.width + ends[i]) * colours);
      from += n;
    }
  const inner = intersect(ring.inner, pictured(frame));
  for (let y = 0; y < rows; y++)
    for (let i = inner.start[y]; i < inner.start[y + 1]; i += 2)
      for (let x = inner.ends[i]; x < inner.ends[i + 1]; x++)
        over(grid, ((y + frame.y) * grid.width + x + frame.x) * grid.channels, out, (y * frame.width + x) * colours);
  return {
    width: frame.width,
    height: frame.rows,
    channels: colours as 1 | 3 | 4,
    depth: 8,
    data: out,
    alpha: false,
    box: boxOf(frame, 0, 0, frame.width, frame.rows),
  };
};
