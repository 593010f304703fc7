import type { Path, Um } from "@kitforme/geometry";
import { along } from "./along.ts";

/**
 * A line as interrupted cuts. The pattern is fitted to a whole number of periods, so cut and gap keep their ratio exactly and
 * their lengths nearly; an open line begins and ends with half a gap, so that no cut runs into an outline and tears.
 */
export const dashLine = (points: Path<"sheet">, closed: boolean, [cut, gap]: readonly [Um, Um]): Path<"sheet">[] => {
  const line = along(points, closed);
  const periods = Math.max(1, Math.round(line.length / (cut + gap)));
  const period = line.length / periods;
  const part = (period * cut) / (cut + gap);
  return Array.from({ length: periods }, (_, i) => {
    const from = i * period + (period - part) / 2;
    return line.stretch(from, from + part);
  }).filter((dash) => dash.length > 1);
};
