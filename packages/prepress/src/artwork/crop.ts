import type { Rect } from "@kitforme/geometry";

/** Whole pixels of a picture, from its top-left. */
export interface Crop {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

const span = (start: number, extent: number, pixels: number, from: number, to: number): [number, number] => [
  Math.max(0, Math.floor(((from - start) / extent) * pixels)),
  Math.min(pixels, Math.ceil(((to - start) / extent) * pixels)),
];

/** The pixels of a picture filling `box` that the window touches; undefined when it lies beside the window. */
export const cropTo = (
  window: Rect,
  box: Rect,
  { width, height }: { readonly width: number; readonly height: number },
): Crop | undefined => {
  const [left, right] = span(box.x, box.width, width, window.x, window.x + window.width);
  const [top, bottom] = span(box.y, box.height, height, window.y, window.y + window.height);
  return right > left && bottom > top ? { left, top, width: right - left, height: bottom - top } : undefined;
};

/** Where cropped pixels lie: drawing micrometres, fractional. */
export const boxOf = (
  crop: Crop,
  box: Rect,
  { width, height }: { readonly width: number; readonly height: number },
): Rect => ({
  x: box.x + (crop.left * box.width) / width,
  y: box.y + (crop.top * box.height) / height,
  width: (crop.width * box.width) / width,
  height: (crop.height * box.height) / height,
});
