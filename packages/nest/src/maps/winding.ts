/** Bands of the convolution's height: a point meets the edges of its band only. */
const BANDS = 128;

/** Winding number of the convolution about a point: how many overlaps a position has. */
export const windingOf = (e: Float64Array): ((x: number, y: number) => number) => {
  let low = Infinity;
  let high = -Infinity;
  for (let k = 1; k < e.length; k += 2) {
    low = Math.min(low, e[k]);
    high = Math.max(high, e[k]);
  }
  const size = (high - low) / BANDS || 1;
  const bandOf = (y: number): number => Math.min(BANDS - 1, Math.max(0, Math.floor((y - low) / size)));
  const start = new Int32Array(BANDS + 1);
  const each = (visit: (band: number, edge: number) => void): void => {
    for (let k = 0; k < e.length; k += 4) {
      const ay = e[k + 1];
      const by = e[k + 3];
      const last = bandOf(Math.max(ay, by));
      for (let band = bandOf(Math.min(ay, by)); band <= last; band++) visit(band, k);
    }
  };
  each((band) => {
    start[band + 1] = start[band + 1] + 1;
  });
  for (let band = 0; band < BANDS; band++) start[band + 1] = start[band + 1] + start[band];
  const edges = new Int32Array(start[BANDS]);
  const next = start.slice(0, BANDS);
  each((band, edge) => {
    const at = next[band];
    edges[at] = edge;
    next[band] = at + 1;
  });
  return (x, y) => {
    const band = bandOf(y);
    const to = start[band + 1];
    let w = 0;
    for (let i = start[band]; i < to; i++) {
      const k = edges[i];
      const ay = e[k + 1];
      const by = e[k + 3];
      if (ay <= y === by <= y) continue;
      const ax = e[k];
      if (ax + ((y - ay) / (by - ay)) * (e[k + 2] - ax) > x) w += by > ay ? 1 : -1;
    }
    return w;
  };
};
