import { apply, type Matrix } from "@kitforme/geometry";

/** One command of a path, absolute; curves are cubic. */
export type Segment =
  | { readonly command: "M" | "L"; readonly points: readonly [number, number] }
  | { readonly command: "C"; readonly points: readonly [number, number, number, number, number, number] }
  | { readonly command: "Z"; readonly points: readonly [] };

const TAKES: Readonly<Record<string, number>> = { M: 2, L: 2, C: 6, Q: 4, Z: 0 };

/** Path data of the normal form (absolute M L C Q Z); undefined for anything else. A quadratic becomes its exact cubic. */
export const readPath = (data: string): readonly Segment[] | undefined => {
  const segments: Segment[] = [];
  let [x, y] = [0, 0];
  let start: readonly [number, number] = [0, 0];
  for (const [, command = "", written = ""] of data.matchAll(/([A-Za-z])([^A-DF-Za-df-z]*)/g)) {
    const n =
      written.trim() === ""
        ? []
        : written
            .trim()
            .split(/[\s,]+/)
            .map(Number);
    if (n.length !== TAKES[command] || !n.every(Number.isFinite)) return undefined;
    const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0] = n;
    if (command === "Z") {
      segments.push({ command, points: [] });
      [x, y] = start;
      continue;
    }
    if (command === "M" || command === "L") {
      segments.push({ command, points: [a, b] });
      if (command === "M") start = [a, b];
      [x, y] = [a, b];
    } else if (command === "C") {
      segments.push({ command, points: [a, b, c, d, e, f] });
      [x, y] = [e, f];
    } else {
      const third = (end: number, control: number): number => end + (2 / 3) * (control - end);
      segments.push({ command: "C", points: [third(x, a), third(y, b), third(c, a), third(d, b), c, d] });
      [x, y] = [c, d];
    }
  }
  return segments;
};

/** A number as it is written into a page. */
export const written = (value: number, decimals: number): string => {
  const short = Number(value.toFixed(decimals));
  return (short === 0 ? 0 : short).toString();
};

const OPERATORS = { M: "m", L: "l", C: "c", Z: "h" } as const;

/** A path as operators of a page. */
export const operatorsOf = (segments: readonly Segment[], matrix: Matrix, decimals: number): string =>
  segments
    .map(({ command, points }) => {
      const numbers: string[] = [];
      for (let i = 0; i + 1 < points.length; i += 2) {
        const [x, y] = apply(matrix, points[i] as number, points[i + 1] as number);
        numbers.push(written(x, decimals), written(y, decimals));
      }
      return [...numbers, OPERATORS[command]].join(" ");
    })
    .join("\n");

/** Least rectangle around something: left, top, right, bottom. */
export type Bounds = readonly [number, number, number, number];

/** The tight bounds of a path under a matrix; undefined for an empty one. A move that nothing follows counts, as in SVG. */
export const boundsOf = (segments: readonly Segment[], matrix: Matrix): Bounds | undefined => {
  let bounds: Bounds | undefined;
  const add = (x: number, y: number): void => {
    const [l, t, r, b] = bounds ?? [x, y, x, y];
    bounds = [Math.min(l, x), Math.min(t, y), Math.max(r, x), Math.max(b, y)];
  };
  let last: readonly [number, number] = [0, 0];
  for (const { command, points } of segments) {
    if (command === "Z") continue;
    const placed: (readonly [number, number])[] = [];
    for (let i = 0; i + 1 < points.length; i += 2)
      placed.push(apply(matrix, points[i] as number, points[i + 1] as number));
    const end = placed.at(-1) as readonly [number, number];
    add(...end);
    if (command === "C") {
      const [p1, p2] = placed as [readonly [number, number], readonly [number, number]];
      for (const axis of [0, 1] as const)
        for (const t of extremes(last[axis], p1[axis], p2[axis], end[axis]))
          add(at(last[0], p1[0], p2[0], end[0], t), at(last[1], p1[1], p2[1], end[1], t));
    }
    last = end;
  }
  return bounds;
};

const at = (a: number, b: number, c: number, d: number, t: number): number => {
  const u = 1 - t;
  return u * u * u * a + 3 * u * u * t * b + 3 * u * t * t * c + t * t * t * d;
};

/** Where a cubic turns, between its ends. */
const extremes = (a: number, b: number, c: number, d: number): number[] => {
  const [p, q, r] = [-a + 3 * b - 3 * c + d, 2 * (a - 2 * b + c), b - a];
  const roots =
    Math.abs(p) < 1e-12
      ? [-r / q]
      : [1, -1].map((sign) => (-q + sign * Math.sqrt(Math.max(0, q * q - 4 * p * r))) / (2 * p));
  return roots.filter((t) => t > 0 && t < 1);
};

/** Bounds around both. */
export const around = (a: Bounds | undefined, b: Bounds | undefined): Bounds | undefined =>
  a && b ? [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.max(a[2], b[2]), Math.max(a[3], b[3])] : (a ?? b);
