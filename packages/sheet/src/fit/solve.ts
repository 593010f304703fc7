// Least squares for the maps between marks as planned and marks as seen. Millimetres.

/** A place in millimetres, in the frame of whoever measured it. */
export interface Place {
  readonly x: number;
  readonly y: number;
}

/** x' = a x + c y + e, y' = b x + d y + f. */
export interface Affine {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
  readonly e: number;
  readonly f: number;
}

export const mapped = ({ a, b, c, d, e, f }: Affine, { x, y }: Place): Place => ({
  x: a * x + c * y + e,
  y: b * x + d * y + f,
});

const middle = (places: readonly Place[]): Place => ({
  x: places.reduce((s, p) => s + p.x, 0) / places.length,
  y: places.reduce((s, p) => s + p.y, 0) / places.length,
});

/** The map with these four numbers that takes the middle of one set to the middle of the other. */
const through = (a: number, b: number, c: number, d: number, from: Place, to: Place): Affine => ({
  a,
  b,
  c,
  d,
  e: to.x - a * from.x - c * from.y,
  f: to.y - b * from.x - d * from.y,
});

/**
 * The turn, scale and shift that bring `from` nearest to `to`, pair by pair, in the sum of squares (Umeyama's closed form in
 * the plane). `mirrored`: Y is mirrored first.
 */
export const similarity = (from: readonly Place[], to: readonly Place[], mirrored = false): Affine => {
  const [m, n] = [middle(from), middle(to)];
  const side = mirrored ? -1 : 1;
  let [cos, sin, square] = [0, 0, 0];
  from.forEach((p, i) => {
    const [x, y] = [p.x - m.x, side * (p.y - m.y)];
    const [u, v] = [(to[i] as Place).x - n.x, (to[i] as Place).y - n.y];
    cos += x * u + y * v;
    sin += x * v - y * u;
    square += x * x + y * y;
  });
  const [p, q] = [cos / square, sin / square];
  return through(p, q, -side * q, side * p, m, n);
};

/** The affine map that brings `from` nearest to `to` in the sum of squares; at least three places not in line. */
export const affine = (from: readonly Place[], to: readonly Place[]): Affine => {
  const [m, n] = [middle(from), middle(to)];
  let [xx, xy, yy, xu, yu, xv, yv] = [0, 0, 0, 0, 0, 0, 0];
  from.forEach((p, i) => {
    const [x, y] = [p.x - m.x, p.y - m.y];
    const [u, v] = [(to[i] as Place).x - n.x, (to[i] as Place).y - n.y];
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xu += x * u;
    yu += y * u;
    xv += x * v;
    yv += y * v;
  });
  const det = xx * yy - xy * xy;
  return through(
    (xu * yy - yu * xy) / det,
    (xv * yy - yv * xy) / det,
    (yu * xx - xu * xy) / det,
    (yv * xx - xv * xy) / det,
    m,
    n,
  );
};
