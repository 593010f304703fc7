import type { PixelGrid } from "./request.ts";

/** Colour values of a pixel, alpha left out. */
export const coloursOf = (grid: PixelGrid): number => grid.channels - (grid.alpha ? 1 : 0);

/** The blank value, 8 bits: full light, or no amount of CMYK. */
export const blankValueOf = (grid: PixelGrid): number => (coloursOf(grid) === 4 ? 0 : 255);

/** 16 bits to 8, to the nearest: 65535 / 255 = 257. */
export const toByte = (value: number): number => ((value + 128) / 257) | 0;

/** Alpha that hides what is beneath. */
export const fullOf = (grid: PixelGrid): number => (grid.depth === 8 ? 255 : 65_535);

/** The colours of the pixels at `from` as they look over white, 8 bits, alpha left out; blank for -1. */
export const gather = (grid: PixelGrid, from: Int32Array): Uint8Array => {
  const colours = coloursOf(grid);
  const { channels, data } = grid;
  const out = new Uint8Array(from.length * colours);
  const blank = blankValueOf(grid);
  const full = fullOf(grid);
  const deep = grid.depth === 16;
  for (let i = 0, o = 0; i < from.length; i++) {
    const index = from[i];
    const at = index * channels;
    const alpha = index < 0 ? 0 : grid.alpha ? data[at + colours] : full;
    for (let c = 0; c < colours; c++, o++) {
      if (alpha === 0) out[o] = blank;
      else {
        const value = deep ? toByte(data[at + c]) : data[at + c];
        out[o] = alpha === full ? value : Math.round((value * alpha + blank * (full - alpha)) / full);
      }
    }
  }
  return out;
};
