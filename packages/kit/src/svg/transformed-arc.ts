import type { Arc, Matrix } from "@kitforme/geometry";

/**
 * An elliptical arc under a matrix: the image of an ellipse is an ellipse, its radii the singular values and its axis the left
 * singular vector of matrix x rotation x radii; a mirroring matrix turns the sweep over. Own, because svgpath compares squares
 * of radii with a fixed 1e-10: in micrometres it exchanged the two radii of an upright ellipse (9.8 x 14.2 at a scale of
 * 351.43 came out lying), and it leaves a mirrored sweep flag as the text "0", which is true.
 */
export const transformedArc = (arc: Arc, matrix: Matrix): Arc => {
  const phi = (arc.rotation * Math.PI) / 180;
  const [cos, sin] = [Math.cos(phi), Math.sin(phi)];
  const [m0, m1, m2, m3] = matrix;
  const rx = Math.abs(arc.rx);
  const ry = Math.abs(arc.ry);
  const a = rx * (m0 * cos + m2 * sin);
  const b = rx * (m1 * cos + m3 * sin);
  const c = ry * (m2 * cos - m0 * sin);
  const d = ry * (m3 * cos - m1 * sin);
  const half = (a * a + c * c - b * b - d * d) / 2;
  const mixed = a * b + c * d;
  const long = Math.sqrt((a * a + b * b + c * c + d * d) / 2 + Math.hypot(half, mixed));
  return {
    rx: long,
    // By the determinant: the difference of two nearly equal squares would lose half the digits of a flat ellipse.
    ry: long === 0 ? 0 : Math.abs(a * d - b * c) / long,
    rotation: (Math.atan2(mixed, half) * 90) / Math.PI,
    large: arc.large,
    sweep: m0 * m3 - m1 * m2 < 0 ? !arc.sweep : arc.sweep,
  };
};
