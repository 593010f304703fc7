import type { Point } from "@kitforme/geometry";
import type { Cutter } from "@kitforme/kit";
import type { CutSheet } from "./cut-sheet.ts";

/** Whether a machine's own axes show the sheet as in a mirror: then arcs run the other way round there. */
export const isMirrored = ({ origin, swap }: Cutter["axes"]): boolean =>
  (origin === "lowerRight" || origin === "upperLeft") !== swap;

/**
 * A point of the sheet in the cutter's own axes, for HP-GL and DXF: counted from the corner that is the machine's 0,0 into the
 * sheet, X and Y exchanged where the machine wants that, the offset added last. Micrometres.
 */
export const inAxes = (
  { width, height, stock: { cutter } }: Pick<CutSheet, "width" | "height" | "stock">,
  { x, y }: { readonly x: number; readonly y: number },
): Point<"sheet"> => {
  const { origin, swap, offset } = cutter.axes;
  const u = origin === "lowerRight" || origin === "upperRight" ? width - x : x;
  const v = origin === "upperLeft" || origin === "upperRight" ? height - y : y;
  return { x: (swap ? v : u) + offset[0], y: (swap ? u : v) + offset[1] };
};

/** The way back: a point in the cutter's own axes as a point of the sheet. */
export const fromAxes = (
  { width, height, stock: { cutter } }: Pick<CutSheet, "width" | "height" | "stock">,
  { x, y }: { readonly x: number; readonly y: number },
): Point<"sheet"> => {
  const { origin, swap, offset } = cutter.axes;
  const [p, q] = [x - offset[0], y - offset[1]];
  const [u, v] = swap ? [q, p] : [p, q];
  return {
    x: origin === "lowerRight" || origin === "upperRight" ? width - u : u,
    y: origin === "upperLeft" || origin === "upperRight" ? height - v : v,
  };
};
