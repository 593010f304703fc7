/** Points where lines of different owners cross. */
export const meetings = (
  lines: readonly number[],
  owner: readonly number[],
  offer: (x: number, y: number) => void,
): void => {
  const count = owner.length;
  const l = Float64Array.from(lines);
  const low = Float64Array.from(owner, (_, i) => Math.min(l[4 * i], l[4 * i + 2]));
  const order = Int32Array.from({ length: count }, (_, i) => i).sort((a, b) => low[a] - low[b]);
  const active: number[] = [];
  for (const i of order) {
    const ax = l[4 * i];
    const ay = l[4 * i + 1];
    const rx = l[4 * i + 2] - ax;
    const ry = l[4 * i + 3] - ay;
    const lowY = Math.min(ay, ay + ry);
    const highY = Math.max(ay, ay + ry);
    let kept = 0;
    for (const j of active) {
      const cx = l[4 * j];
      const ex = l[4 * j + 2];
      if ((cx > ex ? cx : ex) < low[i]) continue;
      active[kept++] = j;
      if (owner[i] === owner[j]) continue;
      const cy = l[4 * j + 1];
      const ey = l[4 * j + 3];
      if ((cy < ey ? cy : ey) > highY || (cy > ey ? cy : ey) < lowY) continue;
      const sx = ex - cx;
      const sy = ey - cy;
      const d = rx * sy - ry * sx;
      if (d === 0) continue;
      const t = ((cx - ax) * sy - (cy - ay) * sx) / d;
      const u = ((cx - ax) * ry - (cy - ay) * rx) / d;
      if (t >= 0 && t <= 1 && u >= 0 && u <= 1) offer(ax + t * rx, ay + t * ry);
    }
    active.length = kept;
    active.push(i);
  }
};
