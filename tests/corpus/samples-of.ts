import type { Layer } from "@kitforme/prepress";
import { type Pixels, poppler } from "../support/oracle.ts";
import { MARGIN, RESOLUTION } from "./make-piece.ts";

/** Poppler widens every line to a pixel and moves it to whole ones: so its pixels are made small, and averaged. */
const FINE = 4;

const averaged = ({ width, height, channels, data }: Pixels): Pixels => {
  const [wide, high] = [Math.floor(width / FINE), Math.floor(height / FINE)];
  const made = new Uint8Array(wide * high * channels);
  for (let y = 0; y < high; y++)
    for (let x = 0; x < wide; x++)
      for (let c = 0; c < channels; c++) {
        let sum = 0;
        for (let j = 0; j < FINE; j++)
          for (let i = 0; i < FINE; i++) sum += data[channels * ((FINE * y + j) * width + FINE * x + i) + c] as number;
        made[channels * (y * wide + x) + c] = Math.round(sum / FINE ** 2);
      }
  return { width: wide, height: high, channels, data: made };
};

const rasterOf = (layer: Layer): Pixels => {
  if (layer.kind === "page") return averaged(poppler(layer.page.bytes, FINE * RESOLUTION));
  const { width, height, space, data } = layer.raster;
  if (data.kind !== "raw" || space === "cmyk") throw new Error("the corpus prints drawings in RGB");
  return { width, height, channels: space === "rgb" ? 3 : 1, data: data.bytes };
};

/**
 * What a card of `makeCard` prints where its artwork lies, as RGB on white paper, a pixel for each of the press's dots. A page of
 * vectors is drawn by poppler.
 */
export const samplesOf = (
  layers: readonly Layer[],
  width: number,
  height: number,
): { readonly width: number; readonly height: number; readonly rgb: Uint8Array } => {
  const [wide, high] = [width, height].map((mm) => Math.ceil((mm / 25.4) * RESOLUTION - 0.01)) as [number, number];
  const rgb = new Uint8Array(3 * wide * high).fill(255);
  const step = 25_400 / RESOLUTION;
  for (const layer of layers) {
    const { box } = layer;
    const raster = rasterOf(layer);
    const { channels } = raster;
    for (let y = 0; y < high; y++) {
      const row = Math.floor((((y + 0.5) * step + MARGIN * 1000 - box.y) / box.height) * raster.height);
      if (row < 0 || row >= raster.height) continue;
      for (let x = 0; x < wide; x++) {
        const column = Math.floor((((x + 0.5) * step + MARGIN * 1000 - box.x) / box.width) * raster.width);
        if (column < 0 || column >= raster.width) continue;
        const from = channels * (row * raster.width + column);
        for (let c = 0; c < 3; c++)
          rgb[3 * (y * wide + x) + c] = raster.data[from + (channels === 3 ? c : 0)] as number;
      }
    }
  }
  return { width: wide, height: high, rgb };
};
