import type { Fragments } from "./fragments.ts";

/** Of every piece the lower and the upper end by the coordinate `c`. */
export const extent = (pieces: Fragments, c: Int32Array): [low: Int32Array, high: Int32Array] => {
  const low = new Int32Array(pieces.count);
  const high = new Int32Array(pieces.count);
  for (let s = 0; s < pieces.count; s++) {
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    low[s] = u < v ? u : v;
    high[s] = u < v ? v : u;
  }
  return [low, high];
};

/** Lists of the pieces that cross each of `bands` bands of the coordinate `c`. */
export const banded = (pieces: Fragments, c: Int32Array, bands: number, low: number, size: number) => {
  const start = new Int32Array(bands + 1);
  const bandOf = (v: number): number => Math.min(bands - 1, Math.max(0, Math.floor((v - low) / size)));
  for (let s = 0; s < pieces.count; s++) {
    if (pieces.net[s] === 0) continue;
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    const b1 = bandOf(Math.max(u, v));
    for (let b = bandOf(Math.min(u, v)); b <= b1; b++) start[b + 1] = start[b + 1] + 1;
  }
  for (let b = 0; b < bands; b++) start[b + 1] = start[b + 1] + start[b];
  const list = new Int32Array(start[bands]);
  const fill = start.slice(0, bands);
  for (let s = 0; s < pieces.count; s++) {
    if (pieces.net[s] === 0) continue;
    const u = c[pieces.from[s]];
    const v = c[pieces.to[s]];
    const b1 = bandOf(Math.max(u, v));
    for (let b = bandOf(Math.min(u, v)); b <= b1; b++) {
      const at = fill[b];
      list[at] = s;
      fill[b] = at + 1;
    }
  }
  return { start, list, bandOf };
};
