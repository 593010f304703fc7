import type { Layer } from "@kitforme/prepress";
import { MARGIN, RESOLUTION } from "./make-piece.ts";

/** What a card of `makeCard` prints where its artwork lies, as RGB on white paper, a pixel for each of the press's dots. */
export const samplesOf = (
  layers: readonly Layer[],
  width: number,
  height: number,
): { readonly width: number; readonly height: number; readonly rgb: Uint8Array } => {
  const [wide, high] = [width, height].map((mm) => Math.ceil((mm / 25.4) * RESOLUTION - 0.01)) as [number, number];
  const rgb = new Uint8Array(3 * wide * high).fill(255);
  const step = 25_400 / RESOLUTION;
  for (const layer of layers) {
    if (layer.kind !== "raster" || layer.raster.data.kind !== "raw") throw new Error("a drawing prints as pixels");
    const { raster, box } = layer;
    const channels = { grey: 1, rgb: 3, cmyk: 4 }[raster.space];
    if (channels === 4) throw new Error("the corpus prints in RGB");
    for (let y = 0; y < high; y++) {
      const row = Math.floor((((y + 0.5) * step + MARGIN * 1000 - box.y) / box.height) * raster.height);
      if (row < 0 || row >= raster.height) continue;
      for (let x = 0; x < wide; x++) {
        const column = Math.floor((((x + 0.5) * step + MARGIN * 1000 - box.x) / box.width) * raster.width);
        if (column < 0 || column >= raster.width) continue;
        const from = channels * (row * raster.width + column);
        for (let c = 0; c < 3; c++)
          rgb[3 * (y * wide + x) + c] = raster.data.bytes[from + (channels === 3 ? c : 0)] as number;
      }
    }
  }
  return { width: wide, height: high, rgb };
};
