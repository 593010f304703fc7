// Growing covers small pockets of a contour whole, so their corners need not be offered to clipper-lib, whose time goes with
// the square of the corners within reach. A traced outline of 15,000 corners on a 30 mm piece, grown by 3 mm, took 17 s as it
// is; without its pockets 0.05 s.
//
//          ball of        A ball of radius `by` rolls along the outside and rests on A and B. What lies between the ball and
//        .         .      the wall A p q B is within `by` of the wall anyway (closing a shape with a ball and then growing it
//       .           .     by that ball's radius equals growing it): so the wall may be replaced by the arc from A to B. The arc
//     A  ` . _ _ . `  B   is given by corners on it; a chord of length L lies above it by L^2 / (8 by), which is the error, and
//   ///\  pocket   /\//   it is chosen. A first version used one chord for the arc, and helped only where corners were
//   ////p -------- q ///  nearer to each other than L.
import type { Um } from "./length.ts";
import type { Contour, Point, Space } from "./point.ts";

/** Corners looked ahead from one: bounds the time on contours with thousands of points in one spot. */
const AHEAD = 400;

/**
 * A ring (solid to its left) with the pockets filled that growing by `by` fills anyway, to within `tolerance`. With a negative
 * `by` the bumps go that shrinking eats anyway. The result may cross itself where parts of the ring are near each other: unite it
 * with the positive rule before use.
 */
export const fillPockets = <S extends Space>(ring: Contour<S>, by: Um, tolerance: Um): Contour<S> => {
  const radius = Math.abs(by);
  const chord = Math.sqrt(8 * radius * tolerance);
  const out: Point<S>[] = [];
  for (let i = 0; i < ring.length; ) {
    const a = ring[i] as Point<S>;
    out.push(a);
    const rest = restingPlace(ring, i, by, tolerance);
    const dropped = rest ? rest.next - i - 1 : 0;
    if (rest && dropped > 0) {
      const b = ring[rest.next] as Point;
      const parts = Math.ceil(Math.hypot(b.x - a.x, b.y - a.y) / chord);
      // For the walls of a deep notch a few corners more are a bargain.
      if (parts - 1 < (rest.deep ? 4 * dropped + 1 : dropped)) {
        for (let k = 1; k < parts; k++) out.push(onArc(a, b, rest.centre, radius, k / parts));
        i = rest.next;
        continue;
      }
      for (let k = i + 1; k < rest.next; k++) out.push(ring[k] as Point<S>);
      i = rest.next;
    } else i++;
  }
  return out;
};

interface Rest {
  readonly next: number;
  readonly centre: readonly [x: number, y: number];
  /** The wall goes farther than the ball's radius from where it begins. */
  readonly deep: boolean;
}

/** The corner ahead of corner i on which the ball comes to rest; undefined when it need not be looked for. */
const restingPlace = (ring: Contour, i: number, by: Um, tolerance: Um): Rest | undefined => {
  const rest = rollFrom(ring, i, by, false);
  if (rest && rest.next > i + 1 && clearOf(ring, i, rest, by, tolerance)) return rest;
  // Notches deeper than `by`, of a comb or a star: clipper-lib walks all their walls at every height.
  const deep = rollFrom(ring, i, by, true);
  return deep && deep.next > i + 1 && isSlim(ring, i, deep.next, by) && clearOf(ring, i, deep, by, tolerance)
    ? deep
    : rest;
};

/** @param deep the wall may go farther than `by` from A on its way; otherwise the pocket holds no ball in any case */
const rollFrom = (ring: Contour, i: number, by: Um, deep: boolean): Rest | undefined => {
  const a = ring[i] as Point;
  const radius2 = by * by;
  let next = -1;
  let cx = 0;
  let cy = 0;
  for (let k = i + 1; k < ring.length && k < i + AHEAD; k++) {
    const p = ring[k] as Point;
    const dx = p.x - a.x;
    const dy = p.y - a.y;
    const d2 = dx * dx + dy * dy;
    // A pocket wider than its mouth would be filled though growing does not: all of it must be within `by` of A, or slim.
    if (d2 > radius2) {
      if (deep) continue;
      break;
    }
    if (d2 === 0 || (next >= 0 && (p.x - cx) ** 2 + (p.y - cy) ** 2 >= radius2)) continue;
    next = k;
    // The solid is on the left of A p, so the ball is on the right (for bumps the other way about).
    const up = (Math.sqrt(radius2 - d2 / 4) / Math.sqrt(d2)) * Math.sign(by);
    cx = (a.x + p.x) / 2 + dy * up;
    cy = (a.y + p.y) / 2 - dx * up;
  }
  return next < 0 ? undefined : { next, centre: [cx, cy], deep };
};

/** A wall that reaches into the ball between two corners would be cut off: then nothing may be dropped. */
const clearOf = (ring: Contour, i: number, { next, centre }: Rest, by: Um, tolerance: Um): boolean => {
  const least = (Math.abs(by) - tolerance) ** 2;
  for (let k = i; k < next; k++)
    if (edgeGap2(centre[0], centre[1], ring[k] as Point, ring[k + 1] as Point) < least) return false;
  return true;
};

/** Whether the pocket from corner i to corner `next` lies in a strip too narrow for the ball, along the way to its farthest
 * corner. */
const isSlim = (ring: Contour, i: number, next: number, by: Um): boolean => {
  const a = ring[i] as Point;
  const b = ring[next] as Point;
  const [mx, my] = [(a.x + b.x) / 2, (a.y + b.y) / 2];
  let far2 = 0;
  let [ux, uy] = [0, 0];
  for (let k = i; k <= next; k++) {
    const p = ring[k] as Point;
    const d2 = (p.x - mx) ** 2 + (p.y - my) ** 2;
    if (d2 > far2) [far2, ux, uy] = [d2, p.x - mx, p.y - my];
  }
  let least = 0;
  let most = 0;
  for (let k = i; k <= next; k++) {
    const p = ring[k] as Point;
    const across = (p.x - mx) * uy - (p.y - my) * ux;
    least = Math.min(least, across);
    most = Math.max(most, across);
  }
  return most - least < 1.9 * Math.abs(by) * Math.sqrt(far2);
};

const edgeGap2 = (x: number, y: number, a: Point, b: Point): number => {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const t = Math.max(0, Math.min(1, ((x - a.x) * dx + (y - a.y) * dy) / (dx * dx + dy * dy || 1)));
  return (a.x + t * dx - x) ** 2 + (a.y + t * dy - y) ** 2;
};

/** The point of the ball over the part t of the chord a b, rounded. */
const onArc = <S extends Space>(a: Point, b: Point, [cx, cy]: Rest["centre"], radius: number, t: number): Point<S> => {
  const x = a.x + t * (b.x - a.x) - cx;
  const y = a.y + t * (b.y - a.y) - cy;
  const scale = radius / Math.hypot(x, y);
  return { x: Math.round(cx + x * scale), y: Math.round(cy + y * scale) };
};
