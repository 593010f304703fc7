/** A ring in pixels, y down. */
export type PixelRing = readonly (readonly [x: number, y: number])[];

/**
 * The pixels whose middles lie inside rings, as runs of one row: filled nonzero, as printed letters are, or even-odd.
 * @param use called with a row, and the first column and the one after the last of a run
 */
export const fillRings = (
  rings: readonly PixelRing[],
  { width, height, rule }: { readonly width: number; readonly height: number; readonly rule: "nonzero" | "evenodd" },
  use: (row: number, from: number, to: number) => void,
): void => {
  const rows = new Map<number, { x: number; up: number }[]>();
  for (const ring of rings)
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length] as readonly [number, number];
      const [low, high] = [Math.min(ay, by), Math.max(ay, by)];
      for (let row = Math.max(0, Math.ceil(low - 0.5)); row + 0.5 < high && row < height; row++) {
        const crossing = { x: ax + ((row + 0.5 - ay) / (by - ay)) * (bx - ax), up: by > ay ? 1 : -1 };
        const known = rows.get(row);
        if (known) known.push(crossing);
        else rows.set(row, [crossing]);
      }
    });
  for (const [row, crossings] of rows) {
    crossings.sort((a, b) => a.x - b.x);
    let winding = 0;
    crossings.forEach(({ x, up }, i) => {
      winding += rule === "nonzero" ? up : i % 2 === 0 ? 1 : -1;
      const next = crossings[i + 1];
      if (winding === 0 || !next) return;
      const from = Math.max(0, Math.ceil(x - 0.5));
      const to = Math.min(width, Math.ceil(next.x - 0.5));
      if (to > from) use(row, from, to);
    });
  }
};
