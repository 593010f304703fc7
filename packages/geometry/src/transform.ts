import type { Point } from "./point.ts";

/** [a b c d e f] as in SVG and PDF: x' = a x + c y + e, y' = b x + d y + f. Lengths in micrometres unless said otherwise. */
export type Matrix = readonly [a: number, b: number, c: number, d: number, e: number, f: number];

/** The matrix that changes nothing. */
export const IDENTITY: Matrix = [1, 0, 0, 1, 0, 0];

/** `outer` after `inner`: apply(multiply(outer, inner), p) = apply(outer, apply(inner, p)). */
export const multiply = (outer: Matrix, inner: Matrix): Matrix => {
  const [a, b, c, d, e, f] = outer;
  const [g, h, i, j, k, l] = inner;
  return [a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * l + e, b * k + d * l + f];
};

/** A point through a matrix, not rounded. */
export const apply = (m: Matrix, x: number, y: number): readonly [x: number, y: number] => [
  m[0] * x + m[2] * y + m[4],
  m[1] * x + m[3] * y + m[5],
];

/** Cosine and sine of a turn in degrees, exact at the quarter turns. */
export const unit = (degrees: number): readonly [cos: number, sin: number] => {
  const turn = ((degrees % 360) + 360) % 360;
  if (turn === 0) return [1, 0];
  if (turn === 90) return [0, 1];
  if (turn === 180) return [-1, 0];
  if (turn === 270) return [0, -1];
  const rad = (turn * Math.PI) / 180;
  return [Math.cos(rad), Math.sin(rad)];
};

/**
 * The one door from drawing space to sheet space: flips y, turns counter-clockwise by `degrees`, moves by (e, f).
 * Rigid but for the flip: no scaling, ever.
 */
export interface Placing {
  readonly degrees: number;
  readonly e: number;
  readonly f: number;
}

/** The matrix of a placing (contract: `matrix` of a placement, here in micrometres). */
export const matrixOf = ({ degrees, e, f }: Placing): Matrix => {
  const [cos, sin] = unit(degrees);
  return [cos, sin, sin, 0 - cos, e, f];
};

/** A drawing point to its place on the sheet, rounded to the micrometre. */
export const place = (m: Matrix, p: Point<"drawing">): Point<"sheet"> => {
  const [x, y] = apply(m, p.x, p.y);
  return { x: Math.round(x), y: Math.round(y) };
};

/** A whole line or ring to its place on the sheet. */
export const placeAll = (m: Matrix, points: readonly Point<"drawing">[]): Point<"sheet">[] =>
  points.map((p) => place(m, p));

/** The matrix that undoes another; not of one that flattens the plane to a line (a determinant of 0). */
export const inverse = ([a, b, c, d, e, f]: Matrix): Matrix => {
  const n = a * d - b * c;
  return [d / n, -b / n, -c / n, a / n, (c * f - d * e) / n, (b * e - a * f) / n];
};
