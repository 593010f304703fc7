import type { Demand } from "../footprint.ts";

/** Sheets spoiled while setting up, and the share of a run that is spoiled while it goes. */
export interface Overs {
  readonly sheets: number;
  readonly share: number;
}

/**
 * Copies to print so that `copies` good ones remain: ceil((good + setup) / (1 - running share)), computed backwards from the
 * good count (common practice; never below it, and nothing of nothing). Personal pieces have no overs: what is spoiled is
 * printed again from the remake list.
 */
export const needOf = ({ copies, personal }: Pick<Demand, "copies" | "personal">, overs: Overs): number => {
  if (copies <= 0) return 0;
  if (personal) return copies;
  const share = Math.min(Math.max(overs.share, 0), 0.9);
  // The small allowance keeps 99 / (1 - 0.01) at 100.
  return Math.max(copies, Math.ceil((copies + Math.max(overs.sheets, 0)) / (1 - share) - 1e-9));
};
