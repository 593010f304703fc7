import { apply, inverse, type Matrix, multiply } from "@kitforme/geometry";
import { BAND, type Edge, type EdgeKind, NOISE } from "./edges.ts";
import type { Reference } from "./draw-reference.ts";
import type { Seen } from "./seen.ts";

/** Where the print of a placement lies: how far the point of it that is most off is from its place, micrometres. */
export interface Shift {
  readonly by: number;
  /** That point, drawing space. */
  readonly at: { readonly x: number; readonly y: number };
}

/** Steps of the search; each leaves a tenth of what the one before was off. */
const STEPS = 4;
/** Pixels: a step as short as this is the last. */
const SETTLED = 0.05;
/** Pixels: known less exactly than this, the place of a print is not known. A fifth of what is to be found. */
const EXACT = 0.2;
/** Micrometres: what is found farther off by edges within a picture may be rectangles that PDFium drew to whole pixels. */
const SNAPPED = 100;
/** Pixels that such an edge may lie off: half of one as it is seen, and half of the finer ones of its reference. */
const SNAP = 0.75;
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
  const by = (kind: EdgeKind, snapped: boolean) => fit(seen, reference, toSeen, reference.edge(kind), usable, snapped);
  const rim = by(free ? "calm" : "rim", false);
  if (free || rim === undefined) return rim === "unknown" ? undefined : rim;
  if (rim !== "unknown" && rim.by <= SNAPPED) return rim;
  // The picture's own edges cross the rim, and PDFium may have moved them: the even stretches tell better, where there are enough.
  const calm = rim === "unknown" ? rim : by("calm", false);
  if (calm !== "unknown") return calm;
  const within = by(rim === "unknown" ? "inner" : "rim", true);
  return within === "unknown" ? undefined : within;
};

type Four = [right: number, down: number, turn: number, scale: number];

const fit = (
  seen: Seen,
  { width, height, toPixels }: Reference,
  toSeen: Matrix,
  edge: Edge,
  usable: (column: number, row: number) => boolean,
  snapped: boolean,
): Shift | undefined | "unknown" => {
  const [a, b, c, d, e, f] = toSeen;
  const [middleX, middleY] = [width / 2, height / 2];
  const radius = Math.hypot(middleX, middleY);
  // Pixels at which both are seen, chosen once: another choice at every step would walk.
  const list: number[] = [];
  for (let i = 0; i < edge.at.length; i++) {
    const at = edge.at[i] as number;
    const v = Math.floor(at / width) + 0.5;
    const u = (at % width) + 0.5;
    const column = Math.floor(a * u + c * v + e);
    const row = Math.floor(b * u + d * v + f);
    const inside = column >= BAND && row >= BAND && column < seen.width - BAND && row < seen.height - BAND;
    if (inside && usable(column, row)) list.push(i);
  }
  const chosen = Int32Array.from(list);
  const pose: Four = [0, 0, 0, 0];
  let first = 0;
  let last = 0;
  let settled = false;
  let normal: number[][] = [];
  for (let step = 0; step <= STEPS; step++) {
    // A sheet has a hundred thousand pixels at its edges: nothing is made anew for any of them.
    let [rr, rd, rt, rs, dd, dt, ds, tt, ts, ss] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
    let [m0, m1, m2, m3] = [0, 0, 0, 0];
    let squares = 0;
    for (let k = 0; k < chosen.length; k++) {
      const i = chosen[k] as number;
      const at = edge.at[i] as number;
      // Turn and scale are counted in pixels at the farthest corner, so that all four are of one size.
      const x = ((at % width) + 0.5 - middleX) / radius;
      const y = (Math.floor(at / width) + 0.5 - middleY) / radius;
      const u = middleX + x * radius + pose[0] - pose[2] * y + pose[3] * x;
      const v = middleY + y * radius + pose[1] + pose[2] * x + pose[3] * y;
      const difference = sampled(seen, a * u + c * v + e, b * u + d * v + f) - (edge.value[i] as number);
      squares += difference * difference;
      const right = edge.right[i] as number;
      const down = edge.down[i] as number;
      const turn = down * x - right * y;
      const scale = right * x + down * y;
      rr += right * right;
      rd += right * down;
      rt += right * turn;
      rs += right * scale;
      dd += down * down;
      dt += down * turn;
      ds += down * scale;
      tt += turn * turn;
      ts += turn * scale;
      ss += scale * scale;
      m0 -= right * difference;
      m1 -= down * difference;
      m2 -= turn * difference;
      m3 -= scale * difference;
    }
    normal = [
      [rr, rd, rt, rs],
      [rd, dd, dt, ds],
      [rt, dt, tt, ts],
      [rs, ds, ts, ss],
    ];
    if (step === 0) first = squares;
    last = squares;
    if (step === STEPS || settled) break;
    const change = solved(normal, [m0, m1, m2, m3]);
    if (!change) return "unknown";
    change.forEach((by, j) => {
      pose[j] = (pose[j] as number) + Math.max(-2 * BAND, Math.min(2 * BAND, by));
    });
    settled = change.every((by) => Math.abs(by) < SETTLED);
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
  const edges = snapped ? edgesOff(normal, edge, chosen, { width, middleX, middleY, radius }) : null;
  let beyond = 0;
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
    if (edges) beyond = Math.max(beyond, edges(u, v) * pixel);
    if (by > worst.by) worst = { by, at: { x: px, y: py } };
  }
  // Where drawing to whole pixels may be all of it, nothing is known.
  if (edges && worst.by > SNAPPED && worst.by <= beyond) return undefined;
  // What no shift explains is another picture; that is found pixel by pixel.
  return last > EXPLAINED * first && worst.by > pixel / 2 ? undefined : worst;
};

/**
 * How far a fit may put a point, in pixels, when every edge it looks at is off by as much as drawing to whole pixels allows, each
 * in the way that adds most.
 */
const edgesOff = (
  normal: readonly (readonly number[])[],
  edge: Edge,
  chosen: Int32Array,
  { width, middleX, middleY, radius }: { width: number; middleX: number; middleY: number; radius: number },
): ((u: number, v: number) => number) => {
  const inverted = [0, 1, 2, 3].map((j) =>
    solved(
      normal,
      [0, 1, 2, 3].map((k) => (k === j ? 1 : 0)),
    ),
  );
  return (u, v) => {
    let [across, down] = [0, 0];
    // What a pixel's difference moves the point by: the row of the point times the inverse times the pixel's own row.
    const weights = [0, 1, 2, 3].map((k) => {
      const [r, d, t, s] = inverted.map((row) => row?.[k] ?? 0) as Four;
      return [r - t * v + s * u, d + t * u + s * v] as const;
    });
    for (let k = 0; k < chosen.length; k++) {
      const i = chosen[k] as number;
      const at = edge.at[i] as number;
      const x = ((at % width) + 0.5 - middleX) / radius;
      const y = (Math.floor(at / width) + 0.5 - middleY) / radius;
      const [right, below] = [edge.right[i] as number, edge.down[i] as number];
      const row = [right, below, below * x - right * y, right * x + below * y];
      let [a, b] = [0, 0];
      for (let n = 0; n < 4; n++) {
        a += (weights[n]?.[0] as number) * (row[n] as number);
        b += (weights[n]?.[1] as number) * (row[n] as number);
      }
      const by = SNAP * Math.hypot(right, below);
      across += Math.abs(a) * by;
      down += Math.abs(b) * by;
    }
    return Math.hypot(across, down);
  };
};

const sumAt = (data: Uint8Array, at: number): number =>
  (data[at] as number) + (data[at + 1] as number) + (data[at + 2] as number);

/** Sum of the channels between pixel middles. */
const sampled = ({ data, width, height }: Seen, x: number, y: number): number => {
  const column = Math.floor(x - 0.5);
  const row = Math.floor(y - 0.5);
  const fx = x - 0.5 - column;
  const fy = y - 0.5 - row;
  const at = 4 * (Math.max(0, Math.min(height - 2, row)) * width + Math.max(0, Math.min(width - 2, column)));
  const below = at + 4 * width;
  return (
    (sumAt(data, at) * (1 - fx) + sumAt(data, at + 4) * fx) * (1 - fy) +
    (sumAt(data, below) * (1 - fx) + sumAt(data, below + 4) * fx) * fy
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
