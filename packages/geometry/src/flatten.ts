// Curves to short straight lines, in floats, rounded to the micrometre at the very end: the bound holds before rounding,
// which adds at most 0.71 um.
import { FLATTEN_TOLERANCE, type Um } from "./length.ts";
import type { Path, Point, Space } from "./point.ts";

/** A place not yet rounded, in micrometres. */
interface Place {
  readonly x: number;
  readonly y: number;
}

/** More pieces than this are no curve a knife follows; a limit so that a wild number in a drawing cannot eat the memory. */
const MOST_PIECES = 100_000;

const rounded = <S extends Space>(places: readonly Place[]): Path<S> => {
  const out: Point<S>[] = [];
  for (const { x, y } of places) {
    const p: Point<S> = { x: Math.round(x) + 0, y: Math.round(y) + 0 };
    const last = out.at(-1);
    if (!last || last.x !== p.x || last.y !== p.y) out.push(p);
  }
  return out.length === 1 ? [out[0] as Point<S>, out[0] as Point<S>] : out;
};

const pieces = (n: number): number => Math.min(MOST_PIECES, Math.max(1, Math.ceil(n)));

/**
 * A cubic Bezier curve, both ends included, straying at most `tolerance`. Even pieces: a chord of a piece 1/n long strays by
 * at most max|f''| / (8 n^2), and |f''| <= 6 times the larger second difference of the control points (from the mean value
 * form of the error of linear interpolation).
 */
export const flattenCubic = <S extends Space>(
  from: Place,
  control1: Place,
  control2: Place,
  to: Place,
  tolerance: Um = FLATTEN_TOLERANCE,
): Path<S> => {
  const bend = Math.max(
    Math.hypot(from.x - 2 * control1.x + control2.x, from.y - 2 * control1.y + control2.y),
    Math.hypot(control1.x - 2 * control2.x + to.x, control1.y - 2 * control2.y + to.y),
  );
  const n = pieces(Math.sqrt((0.75 * bend) / tolerance));
  const places: Place[] = [from];
  for (let i = 1; i < n; i++) {
    const t = i / n;
    const s = 1 - t;
    const [a, b, c, d] = [s * s * s, 3 * s * s * t, 3 * s * t * t, t * t * t];
    places.push({
      x: a * from.x + b * control1.x + c * control2.x + d * to.x,
      y: a * from.y + b * control1.y + c * control2.y + d * to.y,
    });
  }
  return rounded([...places, to]);
};

/** A quadratic Bezier curve, both ends included, straying at most `tolerance`; |f''| is twice the second difference. */
export const flattenQuadratic = <S extends Space>(
  from: Place,
  control: Place,
  to: Place,
  tolerance: Um = FLATTEN_TOLERANCE,
): Path<S> => {
  const bend = Math.hypot(from.x - 2 * control.x + to.x, from.y - 2 * control.y + to.y);
  const n = pieces(Math.sqrt(bend / (4 * tolerance)));
  const places: Place[] = [from];
  for (let i = 1; i < n; i++) {
    const t = i / n;
    const s = 1 - t;
    places.push({
      x: s * s * from.x + 2 * s * t * control.x + t * t * to.x,
      y: s * s * from.y + 2 * s * t * control.y + t * t * to.y,
    });
  }
  return rounded([...places, to]);
};

/** An elliptical arc as in a path command A. Radii in micrometres, not rounded; the x axis turned by `rotation` degrees. */
export interface Arc {
  readonly rx: number;
  readonly ry: number;
  readonly rotation: number;
  readonly large: boolean;
  readonly sweep: boolean;
}

/**
 * An elliptical arc, both ends included, straying at most `tolerance`. Centre and angles by SVG 1.1 F.6.5, radii too small are
 * scaled up by F.6.6, a radius of 0 is a straight line. A chord over the angle a strays by at most r (1 - cos(a / 2)) with the
 * larger radius. Never by way of cubics: two of them for a half circle miss by 27 um at 100 mm.
 */
export const flattenArc = <S extends Space>(
  from: Place,
  arc: Arc,
  to: Place,
  tolerance: Um = FLATTEN_TOLERANCE,
): Path<S> => {
  let rx = Math.abs(arc.rx);
  let ry = Math.abs(arc.ry);
  if (rx === 0 || ry === 0 || (from.x === to.x && from.y === to.y)) return rounded([from, to]);
  const phi = (arc.rotation * Math.PI) / 180;
  const cos = Math.cos(phi);
  const sin = Math.sin(phi);
  const hx = (from.x - to.x) / 2;
  const hy = (from.y - to.y) / 2;
  const x1 = cos * hx + sin * hy;
  const y1 = cos * hy - sin * hx;
  const lack = (x1 / rx) ** 2 + (y1 / ry) ** 2;
  if (lack > 1) {
    rx *= Math.sqrt(lack);
    ry *= Math.sqrt(lack);
  }
  const reach = (x1 / rx) ** 2 + (y1 / ry) ** 2;
  const k = Math.sqrt(Math.max(0, 1 - reach) / reach) * (arc.large === arc.sweep ? -1 : 1);
  const cx1 = (k * rx * y1) / ry;
  const cy1 = (-k * ry * x1) / rx;
  const start = Math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx);
  let turn = Math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx) - start;
  if (arc.sweep && turn < 0) turn += 2 * Math.PI;
  if (!arc.sweep && turn > 0) turn -= 2 * Math.PI;
  const cx = cos * cx1 - sin * cy1 + (from.x + to.x) / 2;
  const cy = sin * cx1 + cos * cy1 + (from.y + to.y) / 2;
  const widest = 2 * Math.acos(1 - Math.min(1, tolerance / Math.max(rx, ry)));
  // A quarter at the most: at a tolerance beyond the radius an arc must still be an arc.
  const n = pieces(Math.abs(turn) / Math.min(widest, Math.PI / 2));
  const places: Place[] = [from];
  for (let i = 1; i < n; i++) {
    const angle = start + (turn * i) / n;
    const ex = rx * Math.cos(angle);
    const ey = ry * Math.sin(angle);
    places.push({ x: cos * ex - sin * ey + cx, y: sin * ex + cos * ey + cy });
  }
  return rounded([...places, to]);
};
