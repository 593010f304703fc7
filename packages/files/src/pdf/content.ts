import { type Matrix, type Rect, toPoints } from "@kitforme/geometry";
import type { Mark } from "@kitforme/sheet";
import { decimal } from "../decimal.ts";
import { markShape } from "../mark.ts";
import { pathSteps } from "../path-steps.ts";

// Content streams as text, in points. One unit of the last decimal is 0.04 µm: nothing the press could show.

/** A length of micrometres in points. */
export const pt = (um: number): string => decimal(toPoints(um), 4);

/** A matrix in points as the operands of `cm`. */
export const operands = ([a, b, c, d, e, f]: Matrix): string =>
  `${[a, b, c, d].map((n) => decimal(n, 8)).join(" ")} ${[e, f].map((n) => decimal(n, 4)).join(" ")}`;

/** A placement, whose numbers a to d are plain and whose move is micrometres, in points. */
export const placing = ([a, b, c, d, e, f]: Matrix): Matrix => [a, b, c, d, toPoints(e), toPoints(f)];

/** The unit square (y up, as pictures have it) to a box of the drawing (y down), in points. */
export const filling = ({ x, y, width, height }: Rect): Matrix => [
  toPoints(width),
  0,
  0,
  -toPoints(height),
  toPoints(x),
  toPoints(y + height),
];

/** A closed ring as a subpath. */
export const ring = (points: readonly { readonly x: number; readonly y: number }[]): string =>
  `${points.map((p, i) => `${pt(p.x)} ${pt(p.y)} ${i === 0 ? "m" : "l"}`).join("\n")}\nh`;

/**
 * Path data (absolute M L C Q Z, micrometres) as path operators. PDF has no quadratic curve: its two thirds rule is exact.
 *
 * @param number how a number of the data is written; left out: micrometres as points
 */
export const pathOperators = (outlines: string, number: (value: number) => string = pt): string => {
  const parts: string[] = [];
  let from: readonly [number, number] = [0, 0];
  for (const { command, values } of pathSteps(outlines)) {
    if (command === "Z") {
      parts.push("h");
      continue;
    }
    const curve = command === "Q" ? cubic(from, values) : values;
    const operator = curve.length === 6 ? "c" : command === "M" ? "m" : "l";
    parts.push(`${curve.map(number).join(" ")} ${operator}`);
    from = [curve.at(-2) ?? 0, curve.at(-1) ?? 0];
  }
  return parts.join("\n");
};

/** A quadratic curve from `from` as the cubic of the same shape. */
const cubic = ([x, y]: readonly [number, number], [qx = 0, qy = 0, toX = 0, toY = 0]: readonly number[]): number[] => {
  const toward = (end: number, control: number): number => end + (2 / 3) * (control - end);
  return [toward(x, qx), toward(y, qy), toward(toX, qx), toward(toY, qy), toX, toY];
};

/** Handle length of a cubic that stands for a quarter circle of radius 1: off by 0.027 % of the radius at most. */
const QUARTER = 0.5522847498;

/** A circle of four cubics. */
export const circle = (x: number, y: number, r: number): string => {
  const k = r * QUARTER;
  const c = (...n: number[]): string => `${n.map(pt).join(" ")} c`;
  return [
    `${pt(x + r)} ${pt(y)} m`,
    c(x + r, y + k, x + k, y + r, x, y + r),
    c(x - k, y + r, x - r, y + k, x - r, y),
    c(x - r, y - k, x - k, y - r, x, y - r),
    c(x + k, y - r, x + r, y - k, x + r, y),
    "h",
  ].join("\n");
};

/**
 * The solid shape of a mark. A square has a point in the middle of its first side: renderers move the edges of a plain rectangle
 * to whole pixels (PDFium does, seen by up to half a pixel on each side), and a mark is to lie where it is.
 */
export const markPath = (mark: Mark): string => {
  const shape = markShape(mark);
  if (shape.kind === "circle") return circle(shape.x, shape.y, shape.radius);
  const [first, second, ...rest] = shape.points;
  if (!first || !second) throw new Error("a mark without corners");
  const middle = { x: Math.round((first.x + second.x) / 2), y: Math.round((first.y + second.y) / 2) };
  return ring([first, middle, second, ...rest]);
};
