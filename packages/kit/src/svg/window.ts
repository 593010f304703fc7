import { apply, inverse, type Matrix } from "@kitforme/geometry";

/** A nested viewport: the matrix of the space around it, and the part of that space that shows. */
export interface Window {
  readonly matrix: Matrix;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly name: string;
}

/** Does a point in micrometres lie in a window, give or take `slack` of its user units? */
export const showsIn = (window: Window, x: number, y: number, slack: number): boolean => {
  const [a, b, c, d] = window.matrix;
  if (a * d - b * c === 0) return false;
  const [u, v] = apply(inverse(window.matrix), x, y);
  return (
    u >= window.x - slack &&
    u <= window.x + window.width + slack &&
    v >= window.y - slack &&
    v <= window.y + window.height + slack
  );
};
