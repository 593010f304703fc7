import { apply, mm, type Point, type Space, toPoints } from "@kitforme/geometry";
import type { Sheet } from "@kitforme/sheet";
import { decimal } from "../decimal.ts";
import { markPath, pt, ring } from "../pdf/content.ts";
import { spotOf } from "../spot.ts";
import { dashOf } from "./draw-legend.ts";
import type { Paper } from "./paper.ts";

/** Most room on the page that a miniature takes. */
const MOST = { width: mm(105), height: mm(120) };

/** On the page corners nearer than this cannot be told apart, and thousands of them make a docket of megabytes. */
export const FINEST = mm(0.12);

/** A contour without corners nearer than `step` to the last one kept. */
export const coarse = <S extends Space>(contour: readonly Point<S>[], step: number): readonly Point<S>[] => {
  let last: Point<S> | undefined;
  const kept = contour.filter((p) => {
    if (last && Math.hypot(p.x - last.x, p.y - last.y) < step) return false;
    last = p;
    return true;
  });
  return kept.length >= 3 ? kept : contour;
};

/** A line from point to point that does not close. */
export const open = (points: readonly Point[]): string =>
  points.map((p, i) => `${pt(p.x)} ${pt(p.y)} ${i === 0 ? "m" : "l"}`).join("\n");

/**
 * The sheet in small: outlines of its pieces with their numbers, creases and perforations as the legend has them, the marks. Drawn at the cursor.
 *
 * @returns its size on the page, micrometres
 */
export const drawMiniature = (paper: Paper, sheet: Sheet, x: number): { width: number; height: number } => {
  const scale = Math.min(MOST.width / sheet.width, MOST.height / sheet.height);
  const [width, height] = [sheet.width * scale, sheet.height * scale];
  const foot = paper.up(paper.y + height);
  const rings = sheet.placed.flatMap(({ prepared, matrix }) =>
    prepared.piece.parts.flatMap(({ outer, openings }) =>
      [outer, ...openings].map((contour) =>
        ring(
          coarse(contour, FINEST / scale).map((p) => {
            const [px, py] = apply(matrix, p.x, p.y);
            return { x: Math.round(px), y: Math.round(py) };
          }),
        ),
      ),
    ),
  );
  const lines = sheet.lines.flatMap(({ operation, closed, points }) => {
    if (operation === "cutting") return [];
    const way = closed ? ring(coarse(points, FINEST / scale)) : open(coarse(points, FINEST / scale));
    return [`${dashOf(operation, scale)} ${way} S`];
  });
  const s = decimal(scale, 6);
  paper.draw(
    [
      `q ${s} 0 0 ${s} ${pt(x)} ${pt(foot)} cm`,
      `${decimal(0.25 / scale, 3)} w 0.45 G 0.93 g`,
      ...(rings.length > 0 ? [...rings, "b*"] : []),
      ...lines,
      "[] 0 d 0.3 g",
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
