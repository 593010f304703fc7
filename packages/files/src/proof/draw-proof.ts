import { overlay, renderPage } from "@kitforme/prepress";

/** All that a proof is drawn from; plain data, so that a thread can do it. Sizes are pixels. */
export interface ProofSheet {
  /** Bytes of the print PDF; null for unprinted stock. */
  readonly print: Uint8Array | null;
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
const BOARD: readonly [number, number, number] = [216, 210, 199];

export const drawProof: DrawProof = async ({ print, width, height, strip, over }) => {
  const pixels = new Uint8Array(width * (height + strip) * 4).fill(255);
  if (print) pixels.set((await renderPage(print, 0, { width, height })).data);
  else for (let i = 0; i < width * height * 4; i += 4) pixels.set(BOARD, i);
  return overlay(pixels, width, height + strip, over);
};
