import { apply, inverse, type Matrix } from "@kitforme/geometry";

/** A nested viewport or a clip to a rectangle: the matrix of the space it is measured in, and the part of it that shows. */
export interface Window {
  readonly matrix: Matrix;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** What cuts off, as a finding says it. */
  readonly name: string;
}

/** Does a point in micrometres lie in a window, give or take `slack` micrometres? */
export const showsIn = (window: Window, x: number, y: number, slack: number): boolean => {
  const [a, b, c, d] = window.matrix;
  const area = Math.abs(a * d - b * c);
  if (area === 0) return false;
  const near = slack / Math.sqrt(area);
  const [u, v] = apply(inverse(window.matrix), x, y);
  return (
    u >= window.x - near &&
    u <= window.x + window.width + near &&
    v >= window.y - near &&
    v <= window.y + window.height + near
  );
};
