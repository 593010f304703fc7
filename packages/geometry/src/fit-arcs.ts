// Arcs found again in lines that were flattened, so that a machine gets a curve and not its chords.
import type { Point, Space } from "./point.ts";
import type { Um } from "./length.ts";

/** A straight run to a point, or an arc to it around a centre. Micrometres; centre and radius are not rounded. */
export type Segment<S extends Space = Space> =
  | { readonly kind: "line"; readonly to: Point<S> }
  | {
      readonly kind: "arc";
      readonly to: Point<S>;
      readonly centre: { readonly x: number; readonly y: number };
      readonly radius: number;
      /** Signed angle in radians from start to end, counter-clockwise (y up) positive; never a full turn. */
      readonly sweep: number;
    };

/** A line as segments from `from` on; a closed one ends where it began. */
export interface Segments<S extends Space = Space> {
  readonly from: Point<S>;
  readonly segments: readonly Segment<S>[];
  /** Set where the whole closed line is one circle. */
  readonly circle?: { readonly centre: { readonly x: number; readonly y: number }; readonly radius: number };
}

/**
 * How far a point may lie from the arc that replaces it. Points of a flattened arc lie on it but for the rounding to whole
 * micrometres, when drawn and again when placed (0.71 each), and three of them give the centre. Where points lie that near,
 * so does the curve between them: it is within 0.005 mm of the designer's.
 */
const NEAR: Um = 2;
/** Chords that an arc must replace: three points always lie on a circle, so three prove nothing. */
const LEAST_CHORDS = 4;
/** Chords of a circle that were flattened to 4 µm bow out by no more; the rounding adds one. */
const MOST_SAGITTA: Um = 5;
/** Beyond this an arc is straight for every machine, and its centre is badly known. 10 m. */
const MOST_RADIUS: Um = 10_000_000;
/** Half a turn and more hang on the last decimal of the radius in formats that give an arc by its ends; thirds do not. */
const MOST_SWEEP = (120 * Math.PI) / 180;

type Place = { readonly x: number; readonly y: number };
interface Circle {
  readonly centre: Place;
  readonly radius: number;
}

/** The circle through three points; none when they are in line. */
const circleThrough = (p: Place, q: Place, r: Place): Circle | undefined => {
  const [ax, ay, bx, by] = [q.x - p.x, q.y - p.y, r.x - p.x, r.y - p.y];
  const twice = 2 * (ax * by - ay * bx);
  if (twice === 0) return undefined;
  const [a, b] = [ax * ax + ay * ay, bx * bx + by * by];
  const [x, y] = [(by * a - ay * b) / twice, (ax * b - bx * a) / twice];
  const radius = Math.hypot(x, y);
  return radius > MOST_RADIUS ? undefined : { centre: { x: p.x + x, y: p.y + y }, radius };
};

/** Angle of a step about a centre, signed. */
const turnOf = (centre: Place, p: Place, q: Place): number => {
  const [ax, ay, bx, by] = [p.x - centre.x, p.y - centre.y, q.x - centre.x, q.y - centre.y];
  return Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
};

/**
 * The sum of the turns when the points from..to are those of one flattened arc about this circle: all near it, all steps the
 * same way round, no chord bowing more than a flattened one may. Undefined when they are not.
 */
const sweepOn = (at: (i: number) => Place, from: number, to: number, circle: Circle): number | undefined => {
  const { centre, radius } = circle;
  let sweep = 0;
  for (let i = from; i <= to; i++) {
    const p = at(i);
    if (Math.abs(Math.hypot(p.x - centre.x, p.y - centre.y) - radius) > NEAR) return undefined;
    if (i === from) continue;
    const turn = turnOf(centre, at(i - 1), p);
    if (turn === 0 || (sweep !== 0 && turn > 0 !== sweep > 0)) return undefined;
    if (radius * (1 - Math.cos(turn / 2)) > MOST_SAGITTA) return undefined;
    sweep += turn;
  }
  return sweep;
};

/** The arc over points from..to, through its ends and the point nearest to its middle, or none. */
const arcOver = (at: (i: number) => Place, from: number, to: number): (Circle & { sweep: number }) | undefined => {
  const circle = circleThrough(at(from), at((from + to) >> 1), at(to));
  const sweep = circle && sweepOn(at, from, to, circle);
  return circle && sweep !== undefined && Math.abs(sweep) <= MOST_SWEEP ? { ...circle, sweep } : undefined;
};

/** The circle nearest to all points of a ring, by least squares of x2 + y2 + ax + by + c; none when they are in line. */
const circleOf = (ring: readonly Place[]): Circle | undefined => {
  const n = ring.length;
  const [mx, my] = [ring.reduce((s, p) => s + p.x, 0) / n, ring.reduce((s, p) => s + p.y, 0) / n];
  let [xx, xy, yy, xz, yz, zz] = [0, 0, 0, 0, 0, 0];
  for (const p of ring) {
    const [x, y] = [p.x - mx, p.y - my];
    const z = x * x + y * y;
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xz += x * z;
    yz += y * z;
    zz += z;
  }
  const det = 2 * (xx * yy - xy * xy);
  if (det === 0) return undefined;
  const [x, y] = [(xz * yy - yz * xy) / det, (yz * xx - xz * xy) / det];
  return { centre: { x: mx + x, y: my + y }, radius: Math.sqrt(zz / n + x * x + y * y) };
};

/** The whole ring as one circle, or none. */
const wholeCircle = (ring: readonly Place[]): Circle | undefined => {
  const n = ring.length;
  if (n < 2 * LEAST_CHORDS) return undefined;
  const circle = circleOf(ring);
  const sweep = circle && sweepOn((i) => ring[i % n] as Place, 0, n, circle);
  return circle && sweep !== undefined && Math.abs(Math.abs(sweep) - 2 * Math.PI) < 1e-6 ? circle : undefined;
};

/**
 * A line with the arcs that its points were flattened from: runs of at least four chords whose points lie on one circle
 * within 2 µm become an arc, everything else stays as it is. A closed ring that is one circle is given as such too; a
 * machine's file may then say so in one word. Points are never moved; y runs up.
 *
 * @param points micrometres; a closed line does not repeat its first point
 */
export const fitArcs = <S extends Space>(points: readonly Point<S>[], closed: boolean): Segments<S> => {
  const from = points[0];
  if (!from) throw new RangeError("a line without points");
  const n = points.length;
  const last = closed ? n : n - 1;
  const at = (i: number): Point<S> => points[i % n] as Point<S>;
  const segments: Segment<S>[] = [];
  let i = 0;
  while (i < last) {
    // The longest arc from here: doubled while it holds, then halved in between.
    let good = 0;
    let arc: ReturnType<typeof arcOver>;
    let bad = last - i + 1;
    for (let chords = LEAST_CHORDS; chords < bad; chords = Math.min(chords * 2, bad - 1)) {
      const found = arcOver(at, i, i + chords);
      if (!found) {
        bad = chords;
        break;
      }
      [good, arc] = [chords, found];
      if (chords === bad - 1) break;
    }
    while (good > 0 && bad - good > 1) {
      const middle = (good + bad) >> 1;
      const found = arcOver(at, i, i + middle);
      if (found) [good, arc] = [middle, found];
      else bad = middle;
    }
    if (arc) {
      const { centre, radius, sweep } = arc;
      segments.push({ kind: "arc", to: at(i + good), centre, radius, sweep });
      i += good;
    } else {
      segments.push({ kind: "line", to: at(i + 1) });
      i++;
    }
  }
  const circle = closed ? wholeCircle(points) : undefined;
  return { from, segments, ...(circle ? { circle } : {}) };
};
