import type { Point } from "@kitforme/geometry";

/** The three ways in which a print lies off its cut when both machines keep their tolerances. */
export const POSES = ["shift", "turn", "stretch"] as const;
export type PoseKind = (typeof POSES)[number];

/** One extreme of a way. */
export interface Pose {
  readonly kind: PoseKind;
  /** How a point of the sheet is moved, for one micrometre that the sheet's farthest corner is. */
  readonly off: (at: Point<"sheet">) => readonly [x: number, y: number];
}

/**
 * The extremes that a print is tried in, one at a time: shifted in eight directions, turned both ways about the sheet's middle,
 * longer and shorter across, along and both ways. Their amount is how far the farthest point of the sheet is moved.
 */
export const posesOf = ({ width, height }: { readonly width: number; readonly height: number }): readonly Pose[] => {
  const [x, y] = [width / 2, height / 2];
  const corner = Math.hypot(x, y);
  const shifts = Array.from({ length: 8 }, (_, i): Pose => {
    const by = [Math.cos((i * Math.PI) / 4), Math.sin((i * Math.PI) / 4)] as const;
    return { kind: "shift", off: () => by };
  });
  const others = [1, -1].flatMap((sign): Pose[] => [
    { kind: "turn", off: (at) => [(-sign * (at.y - y)) / corner, (sign * (at.x - x)) / corner] },
    { kind: "stretch", off: (at) => [(sign * (at.x - x)) / x, 0] },
    { kind: "stretch", off: (at) => [0, (sign * (at.y - y)) / y] },
    { kind: "stretch", off: (at) => [(sign * (at.x - x)) / corner, (sign * (at.y - y)) / corner] },
  ]);
  return [...shifts, ...others];
};
