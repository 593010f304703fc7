import type { Pieces } from "./pieces.ts";

/** Unweighted loss of all pairs; pieces on different sheets have none. */
export const totalLoss = (pieces: Pieces): number => {
  let sum = 0;
  const { n, wide, loss } = pieces;
  for (let s = 0; s < pieces.fieldOf.length; s++) {
    const list = pieces.members[s];
    const m = pieces.count[s];
    for (let a = 0; a < m; a++) {
      const row = list[a] * wide;
      for (let b = 0; b < a; b++) sum += loss[row + list[b]];
      for (let j = n; j < wide; j++) sum += loss[row + j];
    }
  }
  return sum;
};

/** Weighted loss of one piece where it lies. */
export const weightedLoss = (pieces: Pieces, i: number): number => {
  let sum = 0;
  const { n, wide, loss, weight } = pieces;
  const row = i * wide;
  const sheet = pieces.sheet[i];
  const list = pieces.members[sheet];
  for (let b = 0; b < pieces.count[sheet]; b++) {
    const at = row + list[b];
    const l = loss[at];
    if (l > 0) sum += l * weight[at];
  }
  for (let j = n; j < wide; j++) sum += loss[row + j] * weight[row + j];
  return sum;
};

/** Whether a piece overlaps anything. */
export const collides = (pieces: Pieces, i: number): boolean => {
  const { n, wide, loss } = pieces;
  const row = i * wide;
  const sheet = pieces.sheet[i];
  const list = pieces.members[sheet];
  for (let b = 0; b < pieces.count[sheet]; b++) if (loss[row + list[b]] > 0) return true;
  for (let j = n; j < wide; j++) if (loss[row + j] > 0) return true;
  return false;
};

/** Heavier where it still collides, lighter where not: what stays in the way gets expensive. */
export const reweigh = (pieces: Pieces): void => {
  const { n, wide, loss, weight } = pieces;
  let most = 0;
  for (let s = 0; s < pieces.fieldOf.length; s++) {
    const list = pieces.members[s];
    const m = pieces.count[s];
    for (let a = 0; a < m; a++) {
      const row = list[a] * wide;
      for (let b = 0; b < a; b++) most = Math.max(most, loss[row + list[b]]);
      for (let j = n; j < wide; j++) most = Math.max(most, loss[row + j]);
    }
  }
  if (most === 0) return;
  const next = (at: number): number => {
    const l = loss[at];
    const w = weight[at];
    return l > 0 ? w * (1.2 + (0.8 * l) / most) : w > 1 ? Math.max(1, w * 0.95) : 1;
  };
  for (let s = 0; s < pieces.fieldOf.length; s++) {
    const list = pieces.members[s];
    const m = pieces.count[s];
    for (let a = 0; a < m; a++) {
      const i = list[a];
      const row = i * wide;
      for (let b = 0; b < a; b++) {
        const j = list[b];
        const w = next(row + j);
        weight[row + j] = w;
        weight[j * wide + i] = w;
      }
      for (let j = n; j < wide; j++) weight[row + j] = next(row + j);
    }
  }
};
