import { pathSteps } from "./path-steps.ts";

/**
 * Area inside closed outlines whose holes run the other way round, as letters' do (Green's theorem, exact for lines and
 * Bézier curves).
 *
 * @param path SVG path data in micrometres, absolute M L C Q Z only
 * @returns square millimetres
 */
export const areaOfPath = (path: string): number => {
  let twice = 0;
  let [x, y, startX, startY] = [0, 0, 0, 0];
  const cross = (ax: number, ay: number, bx: number, by: number): number => ax * by - bx * ay;
  for (const { command, values } of pathSteps(path)) {
    const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0] = values;
    if (command === "M") [x, y, startX, startY] = [a, b, a, b];
    else if (command === "L") {
      twice += cross(x, y, a, b);
      [x, y] = [a, b];
    } else if (command === "Q") {
      twice += (2 * cross(x, y, a, b) + cross(x, y, c, d) + 2 * cross(a, b, c, d)) / 3;
      [x, y] = [c, d];
    } else if (command === "C") {
      // The integral of x dy - y dx along a cubic: its control points two by two, weighted.
      twice +=
        (6 * cross(x, y, a, b) +
          3 * cross(x, y, c, d) +
          cross(x, y, e, f) +
          3 * cross(a, b, c, d) +
          3 * cross(a, b, e, f) +
          6 * cross(c, d, e, f)) /
        10;
      [x, y] = [e, f];
    } else {
      twice += cross(x, y, startX, startY);
      [x, y] = [startX, startY];
    }
  }
  return Math.abs(twice) / 2 / 1e6;
};
