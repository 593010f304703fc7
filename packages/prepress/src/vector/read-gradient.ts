import { type Matrix, multiply } from "@kitforme/geometry";
import { numberOf, transformOf } from "./attributes.ts";
import type { Element } from "./normal-tree.ts";
import type { Bounds } from "./path.ts";
import { Obstacle, type Paint, type Rgb, type Stop } from "./shapes.ts";

/** Turns of a repeated gradient that are written out: more of them are stripes finer than anyone draws. */
const MOST_TURNS = 200;

/**
 * A gradient of the normal form as the page has it.
 *
 * @param matrix from the shape's units to the page
 * @param bounds the shape's, in its own units
 * @param reach what is painted, in its own units: strokes reach beyond the bounds
 */
export const readGradient = (element: Element, matrix: Matrix, bounds: Bounds, reach: Bounds): Paint => {
  const { attributes } = element;
  const number = (key: string, otherwise: number): number => numberOf(attributes.get(key), otherwise);
  const linear = element.name === "linearGradient";
  const own = transformOf(attributes.get("gradientTransform"));
  const [left, top, right, bottom] = bounds;
  const byBox = attributes.get("gradientUnits") !== "userSpaceOnUse";
  if (byBox && (right <= left || bottom <= top)) throw new Obstacle("a gradient over a line");
  const toShape = byBox ? multiply([right - left, 0, 0, bottom - top, left, top], own) : own;
  const stops = stopsOf(element);
  const [first] = stops;
  if (!first) throw new Obstacle("a gradient without stops");
  const last = stops.at(-1) as Stop;
  const [cx, cy, r] = [number("cx", 0.5), number("cy", 0.5), number("r", 0.5)];
  const coordinates = linear
    ? [number("x1", 0), number("y1", 0), number("x2", 1), number("y2", 0)]
    : [number("fx", cx), number("fy", cy), number("fr", 0), cx, cy, r];
  const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] = coordinates;
  // Without a way to run, the last colour is everywhere (SVG 2, 14.2).
  if (linear ? Math.hypot(x2 - x1, y2 - y1) === 0 : r <= 0) return last.rgb;
  if (!linear && ((coordinates[2] as number) > 0 || Math.hypot(x1 - cx, y1 - cy) > 0.999 * r))
    throw new Obstacle("a gradient around a circle or from its edge");
  const spread = attributes.get("spreadMethod") ?? "pad";
  const determinant = toShape[0] * toShape[3] - toShape[1] * toShape[2];
  if (!(Math.abs(determinant) > 1e-12)) throw new Obstacle("a gradient without area");
  const turns = spread === "pad" ? ([0, 1] as const) : turnsOver(reach, toShape, linear, coordinates);
  if (turns[1] - turns[0] > MOST_TURNS) throw new Obstacle("a gradient of very many stripes");
  return {
    kind: linear ? "linear" : "radial",
    coordinates,
    matrix: multiply(matrix, toShape),
    stops,
    turns,
    mirrored: spread === "reflect",
  };
};

const stopsOf = ({ children }: Element): Stop[] => {
  let least = 0;
  return children
    .filter(({ name }) => name === "stop")
    .map(({ attributes }) => {
      if (numberOf(attributes.get("stop-opacity"), 1) < 1) throw new Obstacle("a gradient that fades to nothing");
      least = Math.min(1, Math.max(least, numberOf(attributes.get("offset"), 0)));
      return { offset: least, rgb: rgbOf(attributes.get("stop-color") ?? "#000000") };
    });
};

/** @throws Obstacle on any but #rrggbb, which is all that the normal form has */
export const rgbOf = (colour: string): Rgb => {
  const hex = /^#([0-9a-f]{6})$/i.exec(colour)?.[1];
  if (hex === undefined) throw new Obstacle(`a colour written as ${colour.slice(0, 40)}`);
  return Number.parseInt(hex, 16);
};

/** How often a repeated gradient runs over what is painted. */
const turnsOver = (
  [left, top, right, bottom]: Bounds,
  [a, b, c, d, e, f]: Matrix,
  linear: boolean,
  coordinates: readonly number[],
): readonly [number, number] => {
  const determinant = a * d - b * c;
  const [x1 = 0, y1 = 0, x2 = 0, y2 = 0, , r = 0] = coordinates;
  const corners = [
    [left, top],
    [right, top],
    [left, bottom],
    [right, bottom],
  ] as const;
  const shares = corners.map(([x, y]) => {
    const u = (d * (x - e) - c * (y - f)) / determinant;
    const v = (a * (y - f) - b * (x - e)) / determinant;
    if (linear) return ((u - x1) * (x2 - x1) + (v - y1) * (y2 - y1)) / ((x2 - x1) ** 2 + (y2 - y1) ** 2);
    // Circles grow by r less the way their centres go: the slowest side bounds them all.
    const [cx = 0, cy = 0] = coordinates.slice(3);
    return Math.hypot(u - x1, v - y1) / (r - Math.hypot(x1 - cx, y1 - cy));
  });
  return linear
    ? [Math.floor(Math.min(...shares)), Math.ceil(Math.max(...shares, Math.min(...shares) + 1))]
    : [0, Math.max(1, Math.ceil(Math.max(...shares)))];
};
