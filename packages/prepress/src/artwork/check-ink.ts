import type { Contour } from "@kitforme/geometry";
import type { PixelGrid } from "@kitforme/bleed";
import { inkLimitOf, type PressColour } from "../colour/profile.ts";
import type { Report } from "./report.ts";

/** Ink is weighed over squares of this side: what is smaller dries (common practice looks at 1 to 3 mm). Micrometres. */
const SQUARE = 1000;
/** Percent above the limit that a level more on each of four plates makes: so exact is a page drawn as plates. */
export const INK_GRACE = 2;

/**
 * Weighs the ink of artwork that came as inks, over squares of a millimetre within the reach: the heaviest above the press's
 * limit is reported with its place, and how much area is above it.
 *
 * @param reach rings of what prints, drawing space
 */
export const checkInk = (
  grid: PixelGrid,
  reach: readonly Contour<"drawing">[],
  press: PressColour,
  report: Report,
): void => {
  if (press.colour !== "cmyk" || (grid.channels !== 4 && grid.channels !== 5)) return;
  const limit = inkLimitOf(press);
  const { width, height, box, data, channels } = grid;
  const across = Math.max(1, Math.round((SQUARE * width) / box.width));
  const down = Math.max(1, Math.round((SQUARE * height) / box.height));
  let worst = { ink: 0, x: 0, y: 0 };
  let area = 0;
  for (let top = 0; top < height; top += down)
    for (let left = 0; left < width; left += across) {
      const [right, bottom] = [Math.min(width, left + across), Math.min(height, top + down)];
      let sum = 0;
      for (let y = top; y < bottom; y++)
        for (let at = (y * width + left) * channels, end = (y * width + right) * channels; at < end; at += channels) {
          const ink =
            (data[at] as number) + (data[at + 1] as number) + (data[at + 2] as number) + (data[at + 3] as number);
          sum += channels === 5 ? (ink * (data[at + 4] as number)) / 255 : ink;
        }
      const ink = sum / ((right - left) * (bottom - top)) / 2.55;
      if (ink <= limit + INK_GRACE) continue;
      const x = box.x + ((left + right) / 2 / width) * box.width;
      const y = box.y + ((top + bottom) / 2 / height) * box.height;
      if (!within(reach, x, y)) continue;
      area += ((right - left) * (bottom - top) * box.width * box.height) / (width * height) / 1e6;
      if (ink > worst.ink) worst = { ink, x, y };
    }
  if (worst.ink > 0)
    report.say("ink-over-limit", { ink: worst.ink, limit, area }, [
      Math.round(worst.x) / 1000,
      Math.round(worst.y) / 1000,
    ]);
};

const within = (rings: readonly Contour[], x: number, y: number): boolean => {
  let odd = false;
  for (const ring of rings)
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[i], ring[j]] as [Contour[number], Contour[number]];
      if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) odd = !odd;
    }
  return odd;
};
