import type { Point } from "@kitforme/geometry";
import { firstMet, type LineIndex, nearest } from "./lines.ts";
import { type Pose, POSES, type PoseKind } from "./poses.ts";

/** Corners of letters nearer than this are looked at once, micrometres. */
const FINE = 100;

/** How far a text is from being touched by a line, micrometres; Infinity beyond 4 mm. */
export interface TextRoom {
  /** To the nearest line, and where. */
  readonly by: number;
  readonly at?: Point<"sheet">;
  /** Amounts of the poses, the least of each kind. */
  readonly under: Readonly<Record<PoseKind, number>>;
}

/** Looks how far the letters of a text may lie off before a line of the cut file touches them. */
export const textRoom = (
  rings: readonly (readonly Point<"sheet">[])[],
  index: LineIndex,
  poses: readonly Pose[],
): TextRoom => {
  let [by, place]: [number, Point<"sheet"> | undefined] = [Infinity, undefined];
  const under: Record<PoseKind, number> = { shift: Infinity, turn: Infinity, stretch: Infinity };
  for (const ring of rings) {
    let before: Point<"sheet"> | undefined;
    for (const at of ring) {
      if (before && Math.hypot(at.x - before.x, at.y - before.y) < FINE) continue;
      before = at;
      const near = nearest(index, at);
      if (near < by) [by, place] = [near, at];
      if (!POSES.some((kind) => near < under[kind])) continue;
      for (const { kind, off } of poses) {
        const [x, y] = off(at);
        const much = Math.hypot(x, y);
        if (much < 1e-6 || near >= under[kind] * much) continue;
        under[kind] = Math.min(under[kind], firstMet(index, at, [x / much, y / much]) / much);
      }
    }
  }
  return { by, ...(place ? { at: place } : {}), under };
};
