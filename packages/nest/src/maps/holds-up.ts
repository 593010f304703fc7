/** How far beside a segment its two sides are looked at: beyond what the lattice moves. */
const BESIDE = 0.1;

/**
 * Whether a segment found on the lattice is a true one. Rounding can exchange two lines that nearly coincide; with an
 * overlap born and another joined there, the gap between them then looks free although both sides overlap for good. So
 * each side is looked at once more, in the unrounded convolution. A very short segment has no sides: free next to it will do.
 */
export const holdsUp = (
  windingAt: (x: number, y: number) => number,
  ax: number,
  ay: number,
  bx: number,
  by: number,
  slit: boolean,
): boolean => {
  const length = Math.hypot(bx - ax, by - ay);
  const mx = (ax + bx) / 2;
  const my = (ay + by) / 2;
  const nx = (-(by - ay) / length) * BESIDE;
  const ny = ((bx - ax) / length) * BESIDE;
  const right = windingAt(mx - nx, my - ny);
  if (slit) return right >= 1 && windingAt(mx + nx, my + ny) >= 1;
  if (right <= 0) return true;
  return (
    length < 5 * BESIDE &&
    (windingAt(mx + nx, my + ny) <= 0 || windingAt(mx + ny, my - nx) <= 0 || windingAt(mx - ny, my + nx) <= 0)
  );
};
