/**
 * Seeded random numbers: the same seed gives the same draws on every machine (32-bit integer arithmetic only).
 * A counter through an integer hash: any seed is as good as any other, 0 included. The kernel draws from a generator of its own
 * (in nest, made for millions of draws a second): one for both would move the pieces of every layout made so far.
 */
export interface Dice {
  /** 0 <= value < 1, 32 bits of it. */
  next(): number;
  /** A whole number, 0 <= value < n. */
  below(n: number): number;
}

export const diceOf = (seed: number): Dice => {
  let state = Math.imul(seed | 0, 0x9e3779b1) ^ 0x5bf03635;
  const next = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let h = Math.imul(state ^ (state >>> 15), 1 | state);
    h = (h + Math.imul(h ^ (h >>> 7), 61 | h)) ^ h;
    return ((h ^ (h >>> 14)) >>> 0) / 4_294_967_296;
  };
  return { next, below: (n) => Math.floor(next() * n) };
};
