import type { PixelGrid } from "./request.ts";

/** Colour values of a pixel, alpha left out. */
export const coloursOf = (grid: PixelGrid): number => grid.channels - (grid.alpha ? 1 : 0);

/** Value of unprinted paper, 8 bits: full light, or no ink. */
export const paperOf = (grid: PixelGrid): number => (coloursOf(grid) === 4 ? 0 : 255);

/** 16 bits to 8, to the nearest: 65535 / 255 = 257. */
export const toByte = (value: number): number => ((value + 128) / 257) | 0;

/** Alpha that hides the paper. */
export const fullOf = (grid: PixelGrid): number => (grid.depth === 8 ? 255 : 65_535);

/** The colours of the pixels at `from` as they print, 8 bits, alpha left out; paper for -1. Washes lie over paper. */
export const gather = (grid: PixelGrid, from: Int32Array): Uint8Array => {
  const colours = coloursOf(grid);
  const { channels, data } = grid;
  const out = new Uint8Array(from.length * colours);
  const paper = paperOf(grid);
  const full = fullOf(grid);
  const deep = grid.depth === 16;
  for (let i = 0, o = 0; i < from.length; i++) {
    const index = from[i] as number;
    const at = index * channels;
    const alpha = index < 0 ? 0 : grid.alpha ? (data[at + colours] as number) : full;
    for (let c = 0; c < colours; c++, o++) {
      if (alpha === 0) out[o] = paper;
      else {
        const value = deep ? toByte(data[at + c] as number) : (data[at + c] as number);
        out[o] = alpha === full ? value : Math.round((value * alpha + paper * (full - alpha)) / full);
      }
    }
  }
  return out;
};
