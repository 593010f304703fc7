// Pictures as text: one letter a pixel of 100 µm, '.' is nothing (transparent, or white page without alpha).
import { grow, type Outline, type Um } from "@kitforme/geometry";
import { type BleedMade, type BleedRequest, makeBleed, type PixelGrid } from "@kitforme/bleed";

export const PIXEL: Um = 100;

const RGB: Readonly<Record<string, readonly [number, number, number]>> = {
  ".": [255, 255, 255],
  r: [200, 30, 30],
  g: [30, 160, 60],
  b: [20, 40, 150],
  y: [240, 200, 40],
  w: [255, 255, 255],
  // Fringe: half red, half page.
  f: [228, 143, 143],
  // Wash: blue at two fifths; as it prints.
  v: [161, 169, 213],
};

export const picture = (rows: readonly string[], alpha: boolean): PixelGrid => {
  const width = (rows[0] as string).length;
  const channels = alpha ? 4 : 3;
  const data = new Uint8Array(width * rows.length * channels);
  rows.forEach((row, y) => {
    if (row.length !== width) throw new Error(`row ${y} has ${row.length} letters, not ${width}`);
    Array.from(row).forEach((letter, x) => {
      data.set(RGB[letter === "v" && alpha ? "b" : letter] as readonly number[], (y * width + x) * channels);
      if (alpha)
        data[(y * width + x) * channels + 3] = letter === "." ? 0 : letter === "f" ? 128 : letter === "v" ? 102 : 255;
    });
  });
  return {
    width,
    height: rows.length,
    channels,
    depth: 8,
    data,
    alpha,
    box: { x: 0, y: 0, width: width * PIXEL, height: rows.length * PIXEL },
  };
};

/** An outline of corners in pixels. */
export const outline = (
  outer: readonly (readonly [number, number])[],
  ...openings: readonly (readonly (readonly [number, number])[])[]
): Outline<"drawing"> => {
  const ring = (points: readonly (readonly [number, number])[]) =>
    points.map(([x, y]) => ({ x: Math.round(x * PIXEL), y: Math.round(y * PIXEL) }));
  return { outer: ring(outer), openings: openings.map(ring) };
};

export const square = (x0: number, y0: number, x1: number, y1: number): [number, number][] => [
  [x0, y0],
  [x1, y0],
  [x1, y1],
  [x0, y1],
];

export const bled = (
  grid: PixelGrid,
  parts: readonly Outline<"drawing">[],
  pixels: number,
  more: Partial<BleedRequest> = {},
): BleedMade => {
  const made = makeBleed({
    grid,
    parts,
    reach: grow(parts, pixels * PIXEL),
    bleed: pixels * PIXEL,
    source: grid.alpha ? "alpha" : "clean",
    ownBleed: "auto",
    gap: 2 * PIXEL,
    spread: "nearest",
    ...more,
  });
  if ("empty" in made) throw new Error("nothing to take colour from");
  return made;
};

/** What is printed at a pixel of the drawing: the letter, '?' for a mixed colour, ' ' where nothing was painted. */
export const printed = (made: BleedMade, x: number, y: number): string => {
  const layers = made.flattened ? [made.flattened] : [...made.tiles].reverse();
  for (const { box, width, height, data } of layers) {
    const px = Math.round((x * PIXEL - box.x) / PIXEL);
    const py = Math.round((y * PIXEL - box.y) / PIXEL);
    if (px < 0 || py < 0 || px >= width || py >= height) continue;
    const at = (py * width + px) * 3;
    const found = Object.entries(RGB).find(([, rgb]) => rgb.every((v, c) => v === data[at + c]));
    return found ? found[0] : "?";
  }
  return " ";
};

/** A rectangle of what is printed, as text. */
export const shown = (made: BleedMade, x0: number, y0: number, x1: number, y1: number): string[] =>
  Array.from({ length: y1 - y0 }, (_, j) =>
    Array.from({ length: x1 - x0 }, (_, i) => printed(made, x0 + i, y0 + j)).join(""),
  );
