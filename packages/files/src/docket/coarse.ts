import { mm, type Point, type Space } from "@kitforme/geometry";
import { pt } from "../pdf/content.ts";

/** On the page corners nearer than this cannot be told apart, and thousands of them make a docket of megabytes. */
export const FINEST = mm(0.12);

/** A contour or line without corners nearer than `step` to the last one kept; its ends stay. */
export const coarse = <S extends Space>(way: readonly Point<S>[], step: number): readonly Point<S>[] => {
  let last: Point<S> | undefined;
  const kept = way.filter((p, i) => {
    if (last && i < way.length - 1 && Math.hypot(p.x - last.x, p.y - last.y) < step) return false;
    last = p;
    return true;
  });
  return kept.length >= 3 ? kept : way;
};

/** A line from point to point that does not close. */
export const open = (points: readonly Point[]): string =>
  points.map((p, i) => `${pt(p.x)} ${pt(p.y)} ${i === 0 ? "m" : "l"}`).join("\n");
