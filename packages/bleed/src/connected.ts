import { RunsWriter, type Runs } from "./runs.ts";

/** The connected parts of a set (8 neighbours): the number of each run's part, numbered by their first run. */
const label = (set: Runs): { part: Int32Array; parts: number } => {
  const n = set.ends.length / 2;
  const parent = new Int32Array(n).map((_, i) => i);
  const root = (i: number): number => {
    let r = i;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r]];
      r = parent[r];
    }
    return r;
  };
  for (let y = 1; y < set.rows; y++) {
    let i = set.start[y - 1] / 2;
    const iEnd = set.start[y] / 2;
    let j = iEnd;
    const jEnd = set.start[y + 1] / 2;
    while (i < iEnd && j < jEnd) {
      // Touching at a corner counts: half-open ends may be equal.
      if (set.ends[2 * i] <= set.ends[2 * j + 1] && set.ends[2 * j] <= set.ends[2 * i + 1]) {
        const a = root(i);
        const b = root(j);
        parent[Math.max(a, b)] = Math.min(a, b);
      }
      if (set.ends[2 * i + 1] < set.ends[2 * j + 1]) i++;
      else j++;
    }
  }
  const part = new Int32Array(n).fill(-1);
  let parts = 0;
  for (let i = 0; i < n; i++) {
    const r = root(i);
    if (part[r] === -1) part[r] = parts++;
    part[i] = part[r];
  }
  return { part, parts };
};

/** The parts of a set as sets of their own that `wanted` says yes to, merged. */
const pick = (set: Runs, part: Int32Array, wanted: (part: number) => boolean): Runs => {
  const out = new RunsWriter(set.rows);
  for (let y = 0; y < set.rows; y++) {
    for (let i = set.start[y]; i < set.start[y + 1]; i += 2)
      if (wanted(part[i / 2])) out.add(set.ends[i], set.ends[i + 1]);
    out.endRow();
  }
  return out.done();
};

/** The connected parts of `set` that share at least so many pixels with `seed`. */
export const reaching = (set: Runs, seed: Runs, least = 1): Runs => {
  const { part, parts } = label(set);
  const shared = new Int32Array(parts);
  for (let y = 0; y < set.rows; y++) {
    let s = seed.start[y];
    const sEnd = seed.start[y + 1];
    for (let i = set.start[y]; i < set.start[y + 1]; i += 2) {
      const from = set.ends[i];
      const to = set.ends[i + 1];
      while (s < sEnd && seed.ends[s + 1] <= from) s += 2;
      for (let k = s; k < sEnd && seed.ends[k] < to; k += 2)
        shared[part[i / 2]] += Math.min(to, seed.ends[k + 1]) - Math.max(from, seed.ends[k]);
    }
  }
  return pick(set, part, (p) => shared[p] >= least);
};

/** One connected part of a line of pixels: how many, and the one in the middle, counted in rows. */
export interface Stretch {
  readonly x: number;
  readonly y: number;
  readonly pixels: number;
}

/** The connected parts of a set, in the order of their first pixels. */
export const stretches = (set: Runs): Stretch[] => {
  const { part, parts } = label(set);
  const pixels = new Int32Array(parts);
  for (let i = 0; i < part.length; i++) pixels[part[i]] += set.ends[2 * i + 1] - set.ends[2 * i];
  const passed = new Int32Array(parts);
  const found = Array.from(pixels, (n) => ({ x: 0, y: 0, pixels: n }));
  for (let y = 0; y < set.rows; y++)
    for (let i = set.start[y]; i < set.start[y + 1]; i += 2) {
      const p = part[i / 2];
      const from = set.ends[i];
      const long = set.ends[i + 1] - from;
      const middle = (pixels[p] >> 1) - passed[p];
      if (middle >= 0 && middle < long) Object.assign(found[p] as Stretch, { x: from + middle, y });
      passed[p] += long;
    }
  return found;
};
