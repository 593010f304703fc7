import type { Segments } from "./overlap-boundary.ts";

/** Inside or not for every point x0 + i hx of a row: the winding number of the convolution, summed along the row. */
export const insideRow = (
  { convolution: e }: Segments,
  y: number,
  x0: number,
  hx: number,
  n: number,
  row: Uint8Array,
): void => {
  const steps = new Int32Array(n + 1);
  let all = 0;
  for (let k = 0; k < e.length; k += 4) {
    const ay = e[k + 1];
    const by = e[k + 3];
    if (ay <= y === by <= y) continue;
    const ax = e[k];
    const x = ax + ((y - ay) / (by - ay)) * (e[k + 2] - ax);
    const sign = by > ay ? 1 : -1;
    all += sign;
    const from = Math.min(n, Math.max(0, Math.ceil((x - x0) / hx)));
    steps[from] = steps[from] - sign;
  }
  // Winding counts the crossings to the right: all of them, less those passed.
  let w = all;
  for (let i = 0; i < n; i++) {
    w += steps[i];
    row[i] = w >= 1 ? 1 : 0;
  }
};
