import { RunsWriter, type Runs } from "./runs.ts";

/** The connected parts of a set (8 neighbours): the number of each run's part, numbered by their first run. */
const label = (set: Runs): { part: Int32Array; parts: number } => {
  const n = set.ends.length / 2;
  const parent = new Int32Array(n).map((_, i) => i);
  const root = (i: number): number => {
    let r = i;
    while (parent[r] !== r) {
      parent[r] = parent[parent[r] as number] as number;
      r = parent[r] as number;
    }
    return r;
  };
  for (let y = 1; y < set.rows; y++) {
    let i = (set.start[y - 1] as number) / 2;
    const iEnd = (set.start[y] as number) / 2;
    let j = iEnd;
    const jEnd = (set.start[y + 1] as number) / 2;
    while (i < iEnd && j < jEnd) {
      // Touching at a corner counts: half-open ends may be equal.
      if (
        (set.ends[2 * i] as number) <= (set.ends[2 * j + 1] as number) &&
        (set.ends[2 * j] as number) <= (set.ends[2 * i + 1] as number)
      ) {
        const a = root(i);
        const b = root(j);
        parent[Math.max(a, b)] = Math.min(a, b);
      }
      if ((set.ends[2 * i + 1] as number) < (set.ends[2 * j + 1] as number)) i++;
      else j++;
    }
  }
  const part = new Int32Array(n).fill(-1);
  let parts = 0;
  for (let i = 0; i < n; i++) {
    const r = root(i);
    if (part[r] === -1) part[r] = parts++;
    part[i] = part[r] as number;
  }
  return { part, parts };
};

/** The parts of a set as sets of their own that `wanted` says yes to, merged. */
const pick = (set: Runs, part: Int32Array, wanted: (part: number) => boolean): Runs => {
  const out = new RunsWriter(set.rows);
  for (let y = 0; y < set.rows; y++) {
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2)
      if (wanted(part[i / 2] as number)) out.add(set.ends[i] as number, set.ends[i + 1] as number);
    out.endRow();
  }
  return out.done();
};

/** The connected parts of `set` that share a pixel with `seed`. */
export const reaching = (set: Runs, seed: Runs): Runs => {
  const { part, parts } = label(set);
  const touched = new Uint8Array(parts);
  for (let y = 0; y < set.rows; y++) {
    let s = seed.start[y] as number;
    const sEnd = seed.start[y + 1] as number;
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2) {
      while (s < sEnd && (seed.ends[s + 1] as number) <= (set.ends[i] as number)) s += 2;
      if (s < sEnd && (seed.ends[s] as number) < (set.ends[i + 1] as number)) touched[part[i / 2] as number] = 1;
    }
  }
  return pick(set, part, (p) => touched[p] === 1);
};

/** One connected part: how many pixels, and one of them, the middle of its longest run. */
export interface Patch {
  readonly x: number;
  readonly y: number;
  readonly pixels: number;
}

export const patches = (set: Runs): Patch[] => {
  const { part, parts } = label(set);
  const found = Array.from({ length: parts }, () => ({ x: 0, y: 0, pixels: 0, longest: 0 }));
  for (let y = 0; y < set.rows; y++)
    for (let i = set.start[y] as number; i < (set.start[y + 1] as number); i += 2) {
      const patch = found[part[i / 2] as number] as (typeof found)[number];
      const from = set.ends[i] as number;
      const long = (set.ends[i + 1] as number) - from;
      patch.pixels += long;
      if (long > patch.longest) Object.assign(patch, { longest: long, x: from + (long >> 1), y });
    }
  return found.map(({ x, y, pixels }) => ({ x, y, pixels }));
};
