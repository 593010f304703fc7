import { bounds, containsRect, distanceBetween, lengthOf, type Path, type Rect, type Um } from "@kitforme/geometry";
import type { Line } from "../kit.ts";
import { pathOf } from "./check.ts";

/** How far one line runs from another: the middle of all distances, and the share of the line that keeps within `slack` of it. */
export interface Alongside {
  readonly apart: Um;
  readonly even: number;
  readonly at: Path<"drawing">[number];
}

/** Points of a line that are asked, and how many of the first may be too far before the line is given up. */
const SAMPLES = 160;
const FIRST = 8;
/** Share of a line that must run along the other. Ends, mitres and a bow or two may differ. */
const MOST_OF_IT = 0.9;

/** Points at even steps along a line. */
const stepsAlong = (path: Path<"drawing">, count: number): Path<"drawing">[number][] => {
  const step = lengthOf(path) / count;
  const points: Path<"drawing">[number][] = [];
  let until = step / 2;
  let gone = 0;
  for (const [i, p] of path.entries()) {
    const q = path[i + 1];
    if (!q || step === 0) break;
    const length = Math.hypot(q.x - p.x, q.y - p.y);
    for (; until <= gone + length && points.length < count; until += step) {
      const t = length === 0 ? 0 : (until - gone) / length;
      points.push({ x: Math.round(p.x + t * (q.x - p.x)), y: Math.round(p.y + t * (q.y - p.y)) });
    }
    gone += length;
  }
  return points;
};

/** Where nine tenths of a line run within `reach` of another; undefined where they do not. Found out early for lines that do not. */
export const alongside = (line: Line, other: Line, reach: Um, slack: (apart: Um) => Um): Alongside | undefined => {
  const points = stepsAlong(pathOf(line), SAMPLES);
  const apartFrom = (p: Path<"drawing">[number]): Um => distanceBetween({ points: [p, p], closed: false }, other);
  const few = points.filter((_, i) => i % Math.ceil(points.length / FIRST) === 0);
  let far = 0;
  for (const p of few) if (apartFrom(p) > reach && ++far > 1) return undefined;
  const all = points.map(apartFrom);
  if (all.filter((d) => d <= reach).length < MOST_OF_IT * all.length) return undefined;
  const apart = [...all].sort((p, q) => p - q)[all.length >> 1] ?? 0;
  const even = all.filter((d) => Math.abs(d - apart) <= slack(apart)).length / all.length;
  const at = points[0];
  return at && { apart, even, at };
};

/**
 * Pairs of lines that could be one line drawn twice, by their boxes: they differ by no more than `equal` on any side, or one
 * holds the other with no more than `within` between them on any side. The inner (or smaller) one first.
 */
export const nearlyBoxed = (
  lines: readonly Line[],
  equal: Um,
  within: Um,
): (readonly [inner: number, outer: number])[] => {
  const boxes = lines.map((line, index) => ({ index, box: bounds(line.points) })).sort((a, b) => a.box.x - b.box.x);
  const pairs: [number, number][] = [];
  for (const [k, a] of boxes.entries())
    for (let l = k + 1; l < boxes.length; l++) {
      const b = boxes[l];
      if (!b || b.box.x - a.box.x > within) break;
      if (!sidesNear(a.box, b.box, within)) continue;
      const smaller = a.box.width + a.box.height <= b.box.width + b.box.height;
      const [inner, outer] = smaller ? [a, b] : [b, a];
      if (sidesNear(a.box, b.box, equal) || containsRect(outer.box, inner.box)) pairs.push([inner.index, outer.index]);
    }
  return pairs.sort((p, q) => p[0] - q[0] || p[1] - q[1]);
};

const sidesNear = (a: Rect, b: Rect, by: Um): boolean =>
  Math.abs(a.x - b.x) <= by &&
  Math.abs(a.y - b.y) <= by &&
  Math.abs(a.x + a.width - b.x - b.width) <= by &&
  Math.abs(a.y + a.height - b.y - b.height) <= by;

export const mostOfIt = ({ even }: Alongside): boolean => even >= MOST_OF_IT;
