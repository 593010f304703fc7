import type { PlacedRectangle } from "./rectangles.ts";

/** A rectangle of the sheet: a piece, a rest, or cut from edge to edge into kids. */
export interface CutNode {
  w: number;
  h: number;
  /** A job, or -1. */
  job: number;
  /** Kids side by side (true) or one above another (false). */
  across: boolean;
  kids: CutNode[] | undefined;
}

export const rest = (w: number, h: number): CutNode => ({ w, h, job: -1, across: true, kids: undefined });

export const copyOf = (n: CutNode): CutNode => ({
  w: n.w,
  h: n.h,
  job: n.job,
  across: n.across,
  kids: n.kids?.map(copyOf),
});

/** Where the pieces of a tree lie. */
export const placesOf = (tree: CutNode): PlacedRectangle[] => {
  const placed: PlacedRectangle[] = [];
  const walk = (n: CutNode, x: number, y: number): void => {
    if (!n.kids) {
      if (n.job >= 0) placed.push({ job: n.job, x, y, width: n.w, height: n.h });
      return;
    }
    let at = 0;
    for (const k of n.kids) {
      walk(k, n.across ? x + at : x, n.across ? y : y + at);
      at += n.across ? k.w : k.h;
    }
  };
  walk(tree, 0, 0);
  return placed;
};
