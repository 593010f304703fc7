import type { Effort } from "../footprint.ts";

/** Moves of single pieces that an effort grants, per piece to lay, and the constructive starts before them. */
export const GRANTED: Record<Effort, { readonly moves: number; readonly starts: number }> = {
  quick: { moves: 40, starts: 4 },
  normal: { moves: 600, starts: 16 },
  best: { moves: 6000, starts: 16 },
};
export const REACH = { anywhere: 54, nearby: 20 };
export const PATIENCE = { sweeps: 25, strikes: 2 };

/** The same for questions to single sheets, which are asked by the thousand. */
export const SHORT = { reach: { anywhere: 30, nearby: 12 }, patience: { sweeps: 10, strikes: 1 } };
