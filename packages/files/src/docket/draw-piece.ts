import { outlinesBounds, type Um } from "@kitforme/geometry";
import type { Piece } from "@kitforme/kit";
import { decimal } from "../decimal.ts";
import { pt } from "../pdf/content.ts";
import type { Paper } from "./paper.ts";
import { type Pen, pieceShape } from "./piece-shape.ts";

const PEN: Pen = { width: 0.4, outline: 0.25, line: 0.35, fill: 0.95 };

/**
 * A piece in small: its outline, its creases and perforations as they are dashed in our legend, in grey. Drawn into a box with
 * its upper left corner at (x, y) of the page, micrometres from the top-left.
 *
 * @returns the scale it is drawn at, 1 is true size; never larger than `most`
 */
export const drawPiece = (
  paper: Paper,
  piece: Pick<Piece, "parts" | "lines">,
  box: { readonly x: Um; readonly y: Um; readonly width: Um; readonly height: Um },
  most = 1,
): number => {
  const bounds = outlinesBounds(piece.parts);
  const scale = Math.min(most, box.width / bounds.width, box.height / bounds.height);
  const s = decimal(scale, 6);
  // Drawings run down the page: the box's upper left corner is theirs.
  const [left, top] = [
    box.x + (box.width - bounds.width * scale) / 2,
    box.y + (box.height - bounds.height * scale) / 2,
  ];
  const place = `${s} 0 0 -${s} ${pt(left - bounds.x * scale)} ${pt(paper.up(top) + bounds.y * scale)}`;
  paper.draw(paper.stamp(pieceShape(piece, scale, PEN), place));
  return scale;
};
