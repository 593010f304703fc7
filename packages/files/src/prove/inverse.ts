import type { Matrix } from "@kitforme/geometry";

/** The matrix that undoes another. */
export const inverse = ([a, b, c, d, e, f]: Matrix): Matrix => {
  const n = a * d - b * c;
  return [d / n, -b / n, -c / n, a / n, (c * f - d * e) / n, (b * e - a * f) / n];
};
