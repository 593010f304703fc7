// Curves of cut files as chords, after the formats' public descriptions and by other ways than the writers'.

export type Corner = readonly [x: number, y: number];

/** Chords bow out by no more than this. Millimetres. */
const NEAR = 0.0005;

const sweepPoints = (cx: number, cy: number, r: number, from: number, sweep: number): Corner[] => {
  const n = Math.max(2, Math.ceil(Math.abs(sweep) / (2 * Math.acos(1 - Math.min(1, NEAR / r)))));
  return Array.from({ length: n }, (_, i) => {
    const a = from + (sweep * (i + 1)) / n;
    return [cx + r * Math.cos(a), cy + r * Math.sin(a)];
  });
};

export const circlePoints = (x: number, y: number, r: number): Corner[] => sweepPoints(x, y, r, 0, 2 * Math.PI);

/** The arc of a DXF vertex with a bulge to the next vertex: bulge is the tangent of a quarter of the angle, counter-clockwise positive (DXF reference). */
export const bulgePoints = (a: Corner, b: Corner, bulge: number): Corner[] => {
  if (bulge === 0) return [b];
  const angle = 4 * Math.atan(bulge);
  const chord = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const r = chord / (2 * Math.sin(Math.abs(angle) / 2));
  const mid: Corner = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  // To the left of a -> b for a counter-clockwise arc of less than half a turn.
  const off = (Math.sign(bulge) * chord) / 2 / Math.tan(Math.abs(angle) / 2);
  const c: Corner = [mid[0] - (off * (b[1] - a[1])) / chord, mid[1] + (off * (b[0] - a[0])) / chord];
  const points = sweepPoints(c[0], c[1], r, Math.atan2(a[1] - c[1], a[0] - c[0]), angle);
  return [...points.slice(0, -1), b];
};

/** The vertices of a DXF polyline with bulges; a closed one does not repeat its first point. */
export const bulgedPoints = (
  vertices: readonly { x: number; y: number; bulge?: number }[],
  closed: boolean,
): Corner[] => {
  const first = vertices[0];
  if (!first) return [];
  const points: Corner[] = [[first.x, first.y]];
  const ends = closed ? [...vertices.slice(1), first] : vertices.slice(1);
  ends.forEach((to, i) => {
    const from = vertices[i] as (typeof vertices)[number];
    points.push(...bulgePoints([from.x, from.y], [to.x, to.y], from.bulge ?? 0));
  });
  return closed ? points.slice(0, -1) : points;
};

/** An SVG arc of one radius (SVG 1.1, F.6.5, a circle): from a to b, y down. */
export const svgArcPoints = (a: Corner, r: number, large: boolean, sweep: boolean, b: Corner): Corner[] => {
  const [dx, dy] = [(a[0] - b[0]) / 2, (a[1] - b[1]) / 2];
  const square = dx * dx + dy * dy;
  const radius = Math.max(r, Math.sqrt(square));
  const k = (large === sweep ? -1 : 1) * Math.sqrt(Math.max(0, radius * radius - square) / square);
  const c: Corner = [k * dy + (a[0] + b[0]) / 2, -k * dx + (a[1] + b[1]) / 2];
  const from = Math.atan2(a[1] - c[1], a[0] - c[0]);
  let turn = Math.atan2(b[1] - c[1], b[0] - c[0]) - from;
  if (sweep && turn < 0) turn += 2 * Math.PI;
  if (!sweep && turn > 0) turn -= 2 * Math.PI;
  return [...sweepPoints(c[0], c[1], radius, from, turn).slice(0, -1), b];
};
