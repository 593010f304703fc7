import type { Contour, Point } from "@kitforme/geometry";
import { flattenCubic, flattenQuadratic, tidy } from "@kitforme/geometry";
import type { Typeface } from "./typeface.ts";

/** One command of an absolute path, of `M L Q C Z`; values are x, y in turn. */
export interface Command {
  readonly type: string;
  readonly values: readonly number[];
}

type Spot = { readonly x: number; readonly y: number };

/** A box in a space with y up or down; `bottom` is the least y. */
export interface Bounds {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

/** A glyph as its font draws it, in font units, y up. `bounds` is `null` for a glyph without ink. */
export interface GlyphOutline {
  readonly commands: readonly Command[];
  readonly bounds: Bounds | null;
}

const outlines = new WeakMap<Typeface, Map<number, GlyphOutline>>();

/** Outline of a glyph, drawn once per font. */
export const glyphOutline = (face: Typeface, glyph: number): GlyphOutline => {
  const known = outlines.get(face) ?? new Map<number, GlyphOutline>();
  outlines.set(face, known);
  const drawn = known.get(glyph);
  if (drawn) return drawn;
  const commands = face.font.glyphToJson(glyph);
  const outline = { commands, bounds: boundsOf(commands) };
  known.set(glyph, outline);
  return outline;
};

/** Path data, numbers rounded to a tenth of a unit. */
export const pathData = (commands: readonly Command[]): string =>
  commands
    .map(({ type, values }) => [type, ...values.map((v) => String(Math.round(v * 10) / 10 + 0))].join(" "))
    .join(" ");

/** Places in (0, 1) where a Bezier of these values along one axis turns back. */
const turnsAt = (p: readonly number[]): number[] => {
  const [p0 = 0, p1 = 0, p2 = 0, p3] = p;
  if (p3 === undefined) {
    const denominator = p0 - 2 * p1 + p2;
    return denominator === 0 ? [] : [(p0 - p1) / denominator];
  }
  const [a, b, c] = [p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0];
  if (a === 0) return b === 0 ? [] : [-c / b];
  const root = Math.sqrt(b * b - 4 * a * c);
  return Number.isNaN(root) ? [] : [(-b + root) / (2 * a), (-b - root) / (2 * a)];
};

const bezierAt = (p: readonly number[], t: number): number => {
  let level = p;
  while (level.length > 1) level = level.slice(1).map((q, i) => (level[i] as number) * (1 - t) + q * t);
  return level[0] as number;
};

/** Exact bounds of a path, or `null` when it is empty. */
export const boundsOf = (commands: readonly Command[]): Bounds | null => {
  const xs: number[] = [];
  const ys: number[] = [];
  let [px, py] = [0, 0];
  for (const { values } of commands) {
    if (values.length < 2) continue;
    const axes = [
      { from: px, into: xs, along: values.filter((_, i) => i % 2 === 0) },
      { from: py, into: ys, along: values.filter((_, i) => i % 2 === 1) },
    ];
    for (const { from, into, along } of axes) {
      const curve = [from, ...along];
      into.push(along.at(-1) as number);
      if (curve.length > 2)
        into.push(
          ...turnsAt(curve)
            .filter((t) => t > 0 && t < 1)
            .map((t) => bezierAt(curve, t)),
        );
    }
    [px, py] = [values.at(-2) as number, values.at(-1) as number];
  }
  if (xs.length === 0) return null;
  return { left: Math.min(...xs), right: Math.max(...xs), bottom: Math.min(...ys), top: Math.max(...ys) };
};

/** Closed rings of a path given in micrometres, flattened. Rings without area are left out: they are no ink. */
export const ringsOf = (commands: readonly Command[]): Contour<"drawing">[] => {
  const rings: Point<"drawing">[][] = [];
  let [px, py] = [0, 0];
  for (const { type, values } of commands) {
    if (values.length < 2) continue;
    if (type === "M") rings.push([]);
    const [a, b, end] = [0, 2, 4].map((i) => ({ x: values[i] as number, y: values[i + 1] as number })) as [
      Spot,
      Spot,
      Spot,
    ];
    const from = { x: px, y: py };
    const points =
      type === "C"
        ? flattenCubic<"drawing">(from, a, b, end)
        : type === "Q"
          ? flattenQuadratic<"drawing">(from, a, b)
          : [{ x: Math.round(a.x), y: Math.round(a.y) }];
    rings.at(-1)?.push(...points);
    [px, py] = [values.at(-2) as number, values.at(-1) as number];
  }
  return rings.map((ring) => tidy(ring)).filter((ring) => ring.length > 2);
};
