import type { Effort } from "../shapes/footprint.ts";

/**
 * What an effort grants per piece to place: moves of single pieces, and as many again in exchanges for sheets worth more; and
 * the constructive starts before all of them.
 */
export const GRANTED: Record<Effort, { readonly moves: number; readonly exchanges: number; readonly starts: number }> =
  {
    quick: { moves: 40, exchanges: 0, starts: 4 },
    normal: { moves: 600, exchanges: 1200, starts: 16 },
    best: { moves: 6000, exchanges: 12_000, starts: 16 },
  };
export const REACH = { anywhere: 54, nearby: 20 };
export const PATIENCE = { sweeps: 25, strikes: 2 };

/** The same for questions to single sheets, which are asked by the thousand. */
export const SHORT = { reach: { anywhere: 30, nearby: 12 }, patience: { sweeps: 10, strikes: 1 } };

/**
 * For exchanges that make a full sheet a little fuller: what does not come off at once seldom does. Of attempts with more
 * than a fifth of the usual overlap left after one sweep one in fifty came off; they took four fifths of the time.
 */
export const HASTY = { reach: { anywhere: 30, nearby: 12 }, patience: { sweeps: 5, strikes: 1 }, hope: 0.2 };
