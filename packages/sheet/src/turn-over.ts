import { apply, type Matrix, type Rect } from "@kitforme/geometry";
import type { Press, Stock } from "@kitforme/kit";
import type { SheetSize } from "./marks.ts";

/**
 * Sheet to its back as it lies when the sheet has been turned over the press's edge: a mirror image, and the way back too. Over
 * a longer edge that stands upright left and right change places, over a lying one top and bottom.
 */
export const turnOver = ({ turn = "long" }: Pick<Press, "turn">, { width, height }: SheetSize): Matrix =>
  (turn === "long") === height >= width ? [-1, 0, 0, 1, width, 0] : [1, 0, 0, -1, 0, height];

/** A rectangle after such a turn, or before it. */
export const turnedRect = (matrix: Matrix, { x, y, width, height }: Rect): Rect => {
  const [[ax, ay], [bx, by]] = [apply(matrix, x, y), apply(matrix, x + width, y + height)];
  return { x: Math.min(ax, bx), y: Math.min(ay, by), width, height };
};

/**
 * The stock as a sheet with a back finds it: what the press cannot print at an edge of the back is the front's opposite edge,
 * so the wider of both margins holds for both sides, and whatever stands on one has its place behind it on the other.
 */
export const bothSides = (stock: Stock, size: SheetSize): Stock => {
  const { press } = stock;
  if (!press) return stock;
  const { top, right, bottom, left } = press.margins;
  const margins =
    turnOver(press, size)[0] < 0
      ? { top, bottom, left: Math.max(left, right), right: Math.max(left, right) }
      : { left, right, top: Math.max(top, bottom), bottom: Math.max(top, bottom) };
  return { ...stock, press: { ...press, margins } };
};
