import { apply, inverse, type Matrix, multiply } from "@kitforme/geometry";
import { BAND, type Edge, NOISE } from "./edges.ts";
import type { Reference } from "./reference.ts";
import type { Seen } from "./seen.ts";

/** Where the print of a placement lies: how far the point of it that is most off is from its place, micrometres. */
export interface Shift {
  readonly by: number;
  /** That point, drawing space. */
  readonly at: { readonly x: number; readonly y: number };
}

/** Steps of the search; each leaves a tenth of what the one before was off. */
const STEPS = 4;
/** Pixels: known less exactly than this, the place of a print is not known. A fifth of what is to be found. */
const EXACT = 0.2;
/** Neighbouring pixels err alike: as if only one of so many had been looked at. */
const ALIKE = 9;
/** A shift is believed where undoing it explains so much of the squared difference. */
const EXPLAINED = 0.5;

/**
 * Finds how the print of a placement is shifted, turned and scaled against its place, by least squares of the picture's
 * differences over its gradients (the method of Lucas and Kanade, 1981). Looked at is the edge of what prints, which
 * is a clip and drawn exactly at every turn; pictures turned freely are themselves drawn up to half a millimetre off by
 * PDFium, so of these only the edges along even colour count. Where there is nothing at the edge of another, its picture is followed.
 *
 * @param matrix drawing to page
 * @param usable whether a pixel of the page, at a point of the drawing, shows this placement alone or blank paper
 * @returns undefined where the picture is too empty, too pale or too soft to tell
 */
export const findShift = (
  seen: Seen,
  reference: Reference,
  matrix: Matrix,
  usable: (column: number, row: number) => boolean,
): Shift | undefined => {
  const toSeen = multiply(
    [seen.scale[0], 0, 0, -seen.scale[1], -seen.left, seen.pageHeight * seen.scale[1] - seen.top],
    multiply(matrix, inverse(reference.toPixels)),
  );
  const free = Math.min(Math.abs(toSeen[0]), Math.abs(toSeen[1])) > 1e-6;
  const found = fit(seen, reference, toSeen, reference.edge(free ? "calm" : "rim"), usable);
  if (found !== "unknown" || free) return found === "unknown" ? undefined : found;
  const within = fit(seen, reference, toSeen, reference.edge("inner"), usable);
  return within === "unknown" ? undefined : within;
};

type Four = [right: number, down: number, turn: number, scale: number];

const fit = (
  seen: Seen,
  { width, height, toPixels }: Reference,
  toSeen: Matrix,
  edge: Edge,
  usable: (column: number, row: number) => boolean,
): Shift | undefined | "unknown" => {
  const [a, b, c, d, e, f] = toSeen;
  const [middleX, middleY] = [width / 2, height / 2];
  const radius = Math.hypot(middleX, middleY);
  // Pixels at which both are seen, chosen once: another choice at every step would walk.
  const chosen: number[] = [];
  edge.at.forEach((at, i) => {
    const [u, v] = [(at % width) + 0.5, Math.floor(at / width) + 0.5];
    const [column, row] = [Math.floor(a * u + c * v + e), Math.floor(b * u + d * v + f)];
    const inside = column >= BAND && row >= BAND && column < seen.width - BAND && row < seen.height - BAND;
    if (inside && usable(column, row)) chosen.push(i);
  });
  const pose: Four = [0, 0, 0, 0];
  let first = 0;
  let last = 0;
  let normal: number[][] = [];
  for (let step = 0; step <= STEPS; step++) {
    normal = Array.from({ length: 4 }, () => [0, 0, 0, 0]);
    const moment = [0, 0, 0, 0];
    let squares = 0;
    for (const i of chosen) {
      const at = edge.at[i] as number;
      // Turn and scale are counted in pixels at the farthest corner, so that all four are of one size.
      const [x, y] = [((at % width) + 0.5 - middleX) / radius, (Math.floor(at / width) + 0.5 - middleY) / radius];
      const u = middleX + x * radius + pose[0] - pose[2] * y + pose[3] * x;
      const v = middleY + y * radius + pose[1] + pose[2] * x + pose[3] * y;
      const value = sampled(seen, a * u + c * v + e, b * u + d * v + f);
      const difference = value - (edge.value[i] as number);
      squares += difference * difference;
      const [right, down] = [edge.right[i] as number, edge.down[i] as number];
      const along = [right, down, down * x - right * y, right * x + down * y];
      for (let j = 0; j < 4; j++) {
        moment[j] = (moment[j] as number) - (along[j] as number) * difference;
        const line = normal[j] as number[];
        for (let k = 0; k < 4; k++) line[k] = (line[k] as number) + (along[j] as number) * (along[k] as number);
      }
    }
    if (step === 0) first = squares;
    last = squares;
    if (step === STEPS) break;
    const change = solved(normal, moment);
    if (!change) return "unknown";
    change.forEach((by, j) => {
      pose[j] = (pose[j] as number) + Math.max(-2 * BAND, Math.min(2 * BAND, by));
    });
  }
  const noise = Math.max(NOISE * NOISE, last / Math.max(1, chosen.length));
  for (let j = 0; j < 4; j++) {
    const one = solved(
      normal,
      [0, 1, 2, 3].map((k) => (k === j ? 1 : 0)),
    );
    if (!one || Math.sqrt(Math.max(0, one[j] as number) * noise * ALIKE) > EXACT) return "unknown";
  }
  const back = inverse(toPixels);
  let worst: Shift = { by: 0, at: { x: 0, y: 0 } };
  const pixel = 1 / Math.hypot(toPixels[0], toPixels[1]);
  for (const [x, y] of [
    [-1, -1],
    [1, -1],
    [-1, 1],
    [1, 1],
  ] as const) {
    const [u, v] = [(x * middleX) / radius, (y * middleY) / radius];
    const by = Math.hypot(pose[0] - pose[2] * v + pose[3] * u, pose[1] + pose[2] * u + pose[3] * v) * pixel;
    const [px, py] = apply(back, middleX + u * radius, middleY + v * radius);
    if (by > worst.by) worst = { by, at: { x: px, y: py } };
  }
  // What no shift explains is another picture; that is found pixel by pixel.
  return last > EXPLAINED * first && worst.by > pixel / 2 ? undefined : worst;
};

/** Sum of the channels between pixel middles. */
const sampled = ({ data, width, height }: Seen, x: number, y: number): number => {
  const [column, row] = [Math.floor(x - 0.5), Math.floor(y - 0.5)];
  const [fx, fy] = [x - 0.5 - column, y - 0.5 - row];
  const [left, top] = [Math.max(0, Math.min(width - 2, column)), Math.max(0, Math.min(height - 2, row))];
  const sum = (at: number): number => (data[at] as number) + (data[at + 1] as number) + (data[at + 2] as number);
  const at = 4 * (top * width + left);
  return (
    (sum(at) * (1 - fx) + sum(at + 4) * fx) * (1 - fy) +
    (sum(at + 4 * width) * (1 - fx) + sum(at + 4 * width + 4) * fx) * fy
  );
};

/** Solution of four equations by elimination with pivots; undefined where they do not tell all four. */
const solved = (equations: readonly (readonly number[])[], right: readonly number[]): number[] | undefined => {
  const rows = equations.map((line, i) => [...line, right[i] as number]);
  for (let j = 0; j < 4; j++) {
    let pivot = j;
    for (let i = j + 1; i < 4; i++)
      if (Math.abs(rows[i]?.[j] as number) > Math.abs(rows[pivot]?.[j] as number)) pivot = i;
    [rows[j], rows[pivot]] = [rows[pivot] as number[], rows[j] as number[]];
    const top = rows[j] as number[];
    if (Math.abs(top[j] as number) < 1e-9) return undefined;
    for (let i = 0; i < 4; i++) {
      const line = rows[i] as number[];
      const times = i === j ? 0 : (line[j] as number) / (top[j] as number);
      for (let k = j; k < 5; k++) line[k] = (line[k] as number) - times * (top[k] as number);
    }
  }
  return rows.map((line, i) => (line[4] as number) / (line[i] as number));
};
