import { apply, mm, toPoints } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";
import { decimal } from "../decimal.ts";
import { markPath, operands, placing, pt } from "../pdf/content.ts";
import { spotOf } from "../spot.ts";
import type { Paper } from "./paper.ts";
import { type Pen, pieceShape } from "./piece-shape.ts";

/** Most room on the page that a miniature takes. */
const MOST = { width: mm(105), height: mm(120) };

const PEN: Pen = { width: 0.25, outline: 0.45, line: 0.35, fill: 0.93 };

/**
 * The sheet in small: outlines of its pieces with their numbers, creases and perforations as the legend has them, the marks.
 * Drawn at the cursor.
 *
 * @returns its size on the page, micrometres
 */
export const drawMiniature = (paper: Paper, sheet: Sheet, x: number): { width: number; height: number } => {
  const scale = Math.min(MOST.width / sheet.width, MOST.height / sheet.height);
  const [width, height] = [sheet.width * scale, sheet.height * scale];
  const foot = paper.up(paper.y + height);
  const s = decimal(scale, 6);
  const pieces = sheet.placed.map(({ prepared, matrix }) =>
    paper.stamp(pieceShape(prepared.piece, scale, PEN), operands(placing(matrix))),
  );
  paper.draw(
    [
      `q ${s} 0 0 ${s} ${pt(x)} ${pt(foot)} cm`,
      ...pieces,
      `${decimal(0.25 / scale, 3)} w 0.3 g`,
      ...sheet.marks.flatMap((mark) => [markPath(mark), "f"]),
      `0.6 G 0 0 ${pt(sheet.width)} ${pt(sheet.height)} re S Q`,
    ].join("\n"),
  );
  for (const { number, prepared, matrix } of sheet.placed)
    for (const part of prepared.piece.parts) {
      const { at, room } = spotOf(part);
      const [px, py] = apply(matrix, at.x, at.y);
      const size = Math.min(10, Math.max(3.5, toPoints(room * scale) * 1.4));
      const below = paper.y + (sheet.height - py) * scale + (size * 0.36 * 25_400) / 72;
      paper.centred(String(number), x + px * scale, below, size);
    }
  return { width, height };
};
