import type { PixelGrid } from "@kitforme/bleed";

/** The grid as it looks on white paper, alpha gone: 8 bits. */
export const overPaper = (grid: PixelGrid): PixelGrid => {
  if (!grid.alpha) return grid;
  const inks = grid.channels - 1;
  const paper = inks === 4 ? 0 : 255;
  const data = new Uint8Array(grid.width * grid.height * inks).fill(paper);
  for (let from = 0, to = 0; to < data.length; from += inks + 1, to += inks) {
    const alpha = grid.data[from + inks] as number;
    // Most pixels are either paper or wholly covered.
    if (alpha === 0) continue;
    if (alpha === 255) for (let ink = 0; ink < inks; ink++) data[to + ink] = grid.data[from + ink] as number;
    else
      for (let ink = 0; ink < inks; ink++)
        data[to + ink] = Math.round(((grid.data[from + ink] as number) * alpha + paper * (255 - alpha)) / 255);
  }
  return { ...grid, channels: inks as 1 | 3 | 4, alpha: false, data };
};

/** Whether a grid paints nothing at all. */
export const isBlank = (grid: PixelGrid): boolean => {
  if (!grid.alpha) return false;
  for (let at = grid.channels - 1; at < grid.data.length; at += grid.channels) if (grid.data[at] !== 0) return false;
  return true;
};
