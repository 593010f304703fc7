import type { Matrix, Path, Point, Rect, Um } from "@kitforme/geometry";

/** Points of 1/72 inch, to a ten-thousandth: 0.04 micrometres. */
const inPoints = (um: Um): number => Number(((um * 72) / 25_400).toFixed(4)) + 0;
const share = (value: number): number => Number(value.toFixed(6)) + 0;

/** Two numbers as the ticket writes them: a place, a size, a way. */
export const pair = (x: Um, y: Um): string => `${inPoints(x)} ${inPoints(y)}`;

/** A box as left, bottom, right, top. */
export const box = ({ x, y, width, height }: Rect): string => `${pair(x, y)} ${pair(x + width, y + height)}`;

/** The ticket's drawings have their origin in the lower-left corner and y up; ours in the upper-left one and y down. */
export const upright = ([a, b, c, d, e, f]: Matrix, height: Um): string =>
  `${[a, b, -c, -d].map(share).join(" ")} ${pair(e + c * height, f + d * height)}`;

/** A line as path operators of PDF. */
export const pathOf = (points: Path<"drawing">, closed: boolean, height: Um): string => {
  const [first, ...rest] = points.map(({ x, y }) => pair(x, height - y));
  return [`${first ?? ""} m`, ...rest.map((p) => `${p} l`), ...(closed ? ["h"] : [])].join(" ");
};

/** Straight stretches of a line: where each begins and how far it goes. */
export const stretches = (
  points: readonly Point[],
  closed: boolean,
): { readonly start: string; readonly way: string }[] => {
  const ring = closed && points[0] ? [...points, points[0]] : points;
  return ring.slice(1).map((to, i) => {
    const from = ring[i] as Point;
    return { start: pair(from.x, from.y), way: pair(to.x - from.x, to.y - from.y) };
  });
};
