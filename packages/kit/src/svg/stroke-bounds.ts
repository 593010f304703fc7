import type { Matrix } from "@kitforme/geometry";
import { linesOf } from "./line-of.ts";

/** Least and greatest coordinates. */
export type Bounds = readonly [left: number, top: number, right: number, bottom: number];

/** How a line is stroked, in its own user units. */
export interface Pen {
  readonly width: number;
  readonly cap: "butt" | "round" | "square";
  readonly join: "miter" | "round" | "bevel";
  readonly miter: number;
}

/** The least box around two, either of which may be nothing. */
export const around = (a: Bounds | undefined, b: Bounds | undefined): Bounds | undefined =>
  a && b ? [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3])] : (a ?? b);

/** Steps of the circle that a round end reaches: its chord lies within 0.1 % of the radius. */
const STEPS = 64;

/** A number that makes user units fine enough for whole ones: the reader of lines rounds to those. */
const FINE = 1_000_000;

/**
 * The bounds of a shape with its line (SVG 2, 8.10; dashes leave no gaps in it).
 *
 * @param matrix user units to those of the bounds
 * @param reach about how far coordinates lie from 0, in user units
 * @returns undefined where the path draws nothing; `"unread"` where it cannot be read
 */
export const boundsOf = (
  data: string,
  matrix: Matrix,
  pen: Pen | undefined,
  reach: number,
): Bounds | "unread" | undefined => {
  const scale = FINE / reach;
  const read = linesOf(data, [scale, 0, 0, scale, 0, 0]);
  if ("why" in read) return "unread";
  let bounds: Bounds | undefined;
  const [a, b, c, d, e, f] = matrix;
  const meet = (x: number, y: number): void => {
    const [u, v] = [a * x + c * y + e, b * x + d * y + f];
    bounds = around(bounds, [u, v, u, v]);
  };
  const disc = (x: number, y: number, radius: number): void => {
    for (let i = 0; i < STEPS; i++) {
      const angle = (2 * Math.PI * i) / STEPS;
      meet(x + radius * Math.cos(angle), y + radius * Math.sin(angle));
    }
  };
  for (const { points, closed } of read.lines) {
    const path = points.map(({ x, y }) => [x / scale, y / scale] as const);
    for (const [x, y] of path) meet(x, y);
    if (!pen) continue;
    const half = pen.width / 2;
    const count = closed ? path.length : path.length - 1;
    const at = (i: number) => path[i % path.length] as readonly [number, number];
    const along = (i: number): readonly [number, number] => {
      const [[x0, y0], [x1, y1]] = [at(i), at(i + 1)];
      const length = Math.hypot(x1 - x0, y1 - y0);
      return [(x1 - x0) / length, (y1 - y0) / length];
    };
    for (let i = 0; i < count; i++) {
      const [ux, uy] = along(i);
      for (const [x, y] of [at(i), at(i + 1)]) for (const side of [-half, half]) meet(x - side * uy, y + side * ux);
      if (i + 1 < count || closed) {
        const [vx, vy] = along((i + 1) % path.length);
        const [x, y] = at(i + 1);
        if (pen.join === "round") disc(x, y, half);
        // The tip of a miter lies on the line that halves the corner, as far as the halved angle is sharp.
        const cosine = Math.sqrt(Math.max(0, (1 + ux * vx + uy * vy) / 2));
        if (pen.join === "miter" && cosine > 0 && 1 / cosine <= pen.miter) {
          const [nx, ny] = [ux - vx, uy - vy];
          const turn = Math.hypot(nx, ny);
          if (turn > 1e-9) meet(x + (nx / turn) * (half / cosine), y + (ny / turn) * (half / cosine));
        }
      }
      if (closed || pen.cap === "butt") continue;
      const ends = [...(i === 0 ? [[at(0), -1] as const] : []), ...(i === count - 1 ? [[at(count), 1] as const] : [])];
      for (const [[x, y], way] of ends) {
        if (pen.cap === "round") disc(x, y, half);
        else for (const side of [-half, half]) meet(x + way * half * ux - side * uy, y + way * half * uy + side * ux);
      }
    }
  }
  return bounds;
};
