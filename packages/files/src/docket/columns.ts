import { type Column, WIDE } from "./paper.ts";

/** Columns that share the width of the page. */
export const columns = (...shares: readonly (readonly [title: string, share: number])[]): Column[] => {
  const all = shares.reduce((sum, [, share]) => sum + share, 0);
  return shares.map(([title, share]) => ({ title, width: (WIDE * share) / all }));
};
