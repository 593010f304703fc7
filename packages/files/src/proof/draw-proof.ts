import { overlay, renderPage } from "@kitforme/prepress";

/** All that a proof is drawn from; plain data, so that a thread can do it. Sizes are pixels. */
export interface ProofSheet {
  /** Bytes of the print PDF; null for unprinted stock. */
  readonly print: Uint8Array | null;
  /** Page of it, from 0; left out, the first. */
  readonly page?: number;
  readonly width: number;
  readonly height: number;
  /** Height of the legend under the sheet. */
  readonly strip: number;
  /** What is drawn over it, an SVG over sheet and legend. */
  readonly over: string;
}

/** PNG bytes. */
export type DrawProof = (sheet: ProofSheet) => Promise<Uint8Array>;

/** Unprinted stock, so that white pieces are not taken for printed ones. */
export const BOARD: readonly [number, number, number] = [216, 210, 199];

/** Draws a proof here, in the caller's thread: the print as pixels, or bare board where nothing is printed, with legend and lines over it. */
export const drawProof: DrawProof = async ({ print, page = 0, width, height, strip, over }) => {
  const tall = height + strip;
  // Drawn with the strip below as paper: a second picture of 14 MB a sheet would be slow to be given back.
  const region = { x: 0, y: 0, width, height: tall };
  const pixels = print ? (await renderPage(print, page, { width, height, region })).data : board(width, height, tall);
  return overlay(pixels, width, tall, over);
};

const board = (width: number, height: number, tall: number): Uint8Array => {
  const pixels = new Uint8Array(width * tall * 4).fill(255);
  for (let i = 0; i < width * height * 4; i += 4) pixels.set(BOARD, i);
  return pixels;
};
