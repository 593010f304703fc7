import { mm, outlinesBounds, type Rect } from "@kitforme/geometry";
import type { Piece } from "@kitforme/kit";
import { decimal } from "../decimal.ts";
import { ring } from "../pdf/content.ts";
import { coarse, FINEST, open } from "./coarse.ts";
import { dashOf } from "./dash.ts";

/** What is drawn again and again on papers, in its own space: points, y as in the drawing. */
export interface Shape {
  readonly operators: string;
  /** All of it with its strokes, micrometres. */
  readonly box: Rect;
}

/** Pen in points of the page, and greys from 0 to 1. */
export interface Pen {
  readonly width: number;
  readonly outline: number;
  readonly line: number;
  readonly fill: number;
}

const known = new WeakMap<Piece["parts"], Map<string, Shape>>();

/**
 * A piece in its drawing's space, to be shown at a scale: its outline, its creases and perforations as they are dashed in our
 * legend. Made once per piece, scale and pen: a job shows the same few pieces a thousand times.
 */
export const pieceShape = (piece: Pick<Piece, "parts" | "lines">, scale: number, pen: Pen): Shape => {
  const key = `${scale} ${JSON.stringify(pen)}`;
  const shapes = known.get(piece.parts) ?? new Map<string, Shape>();
  known.set(piece.parts, shapes);
  const shape = shapes.get(key) ?? draw(piece, scale, pen);
  shapes.set(key, shape);
  return shape;
};

const draw = ({ parts, lines }: Pick<Piece, "parts" | "lines">, scale: number, pen: Pen): Shape => {
  const step = FINEST / scale;
  const { x, y, width, height } = outlinesBounds(parts);
  const around = mm(1) / scale;
  return {
    operators: [
      `${decimal(pen.width / scale, 3)} w ${pen.outline} G ${pen.fill} g`,
      ...parts.flatMap(({ outer, openings }) => [outer, ...openings].map((contour) => ring(coarse(contour, step)))),
      `b* ${pen.line} G`,
      ...lines.flatMap(({ operation, closed, points }) =>
        operation === "cutting"
          ? []
          : [`${dashOf(operation, scale)} ${closed ? ring(coarse(points, step)) : open(coarse(points, step))} S`],
      ),
    ].join("\n"),
    box: { x: x - around, y: y - around, width: width + 2 * around, height: height + 2 * around },
  };
};
