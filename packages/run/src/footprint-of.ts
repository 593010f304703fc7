import type { Contour, Outline, Point } from "@kitforme/geometry";
import type { Footprint } from "@kitforme/layout";
import type { PreparedPiece } from "@kitforme/prepress";

/** The one bridge from prepress to layout: a prepared piece as shapes with y up, so that a placement is a turn and a move. */
export const footprintOf = (prepared: PreparedPiece): Footprint => {
  const { piece, reach } = prepared;
  return {
    id: `${piece.kit}/${piece.piece}`,
    shape: reach.map(flipped),
    core: piece.parts.map(flipped),
    turns: piece.turns,
    ...(piece.grain ? { axis: piece.grain === "vertical" ? ("y" as const) : ("x" as const) } : {}),
  };
};

/** Mirrored at the x axis; the ring is read backwards so that outer contours stay wound as outer contours. */
const flipped = (outline: Outline): Outline => ({
  outer: mirrored(outline.outer),
  openings: outline.openings.map(mirrored),
});
const mirrored = (contour: Contour): Contour => contour.map((p): Point => ({ x: p.x, y: 0 - p.y })).reverse();
