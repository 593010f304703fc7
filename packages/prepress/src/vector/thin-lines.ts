import { apply } from "@kitforme/geometry";
import { boundsOf } from "./path.ts";
import type { Item } from "./shapes.ts";

/** Lines of a page that are thinner than a press keeps. */
export interface ThinLines {
  readonly times: number;
  /** Points. */
  readonly thinnest: number;
  /** Where the thinnest is, in the space of the page. */
  readonly at: readonly [x: number, y: number];
}

/** The lines thinner than `least` points that are drawn on a page of this size; undefined where there is none. */
export const thinLinesOf = (
  items: readonly Item[],
  least: number,
  size: readonly [width: number, height: number],
): ThinLines | undefined => {
  let found: ThinLines | undefined;
  const visit = (item: Item): void => {
    if (item.kind === "group") return item.items.forEach(visit);
    const { stroke, matrix, path } = item;
    if (!stroke) return;
    const [a, b, c, d] = matrix;
    const width = stroke.width * Math.sqrt(Math.abs(a * d - b * c));
    const bounds = width < least ? boundsOf(path, matrix) : undefined;
    if (!bounds || bounds[0] > size[0] || bounds[1] > size[1] || bounds[2] < 0 || bounds[3] < 0) return;
    const [x = 0, y = 0] = path[0]?.points ?? [];
    const better = !found || width < found.thinnest;
    found = {
      times: (found?.times ?? 0) + 1,
      thinnest: better ? width : (found?.thinnest ?? width),
      at: better ? apply(matrix, x, y) : (found?.at ?? [0, 0]),
    };
  };
  items.forEach(visit);
  return found;
};
