import {
  contourOf,
  insideOutlines,
  mm,
  type Outline,
  outlinesBounds,
  outlinesDistance,
  type Path,
  type Rect,
  touches,
  type Um,
} from "@kitforme/geometry";

/** Paper left between the cut and whatever must not be touched. */
const CLEAR = mm(0.5);
/** Places are looked at this far apart. */
const STEP = mm(4);

/**
 * A short straight cut in the waste, along the sheet or across it. A trailing blade that points anywhere is brought into line by
 * it: what is left of the angle shrinks by e for every offset's length cut, so eight of them leave no more than a thousandth.
 *
 * @param room where cuts may lie
 * @param taken what the cut keeps away from
 * @returns null when there is no room for it
 */
export const alignCut = (room: Rect, taken: readonly (readonly Outline[])[], bladeOffset: Um): Path<"sheet"> | null => {
  const length = alignLength(bladeOffset);
  const away = CLEAR + bladeOffset;
  const boxes = taken.map(outlinesBounds);
  let inTheWay = -1;
  for (const [width, height] of [
    [length, 0],
    [0, length],
  ] as const)
    for (let y = room.y + CLEAR; y + height <= room.y + room.height - CLEAR; y += STEP)
      for (let x = room.x + CLEAR; x + width <= room.x + room.width - CLEAR; x += STEP) {
        const box = { x, y, width: Math.max(1, width), height: Math.max(1, height) };
        const strip = [{ outer: contourOf<"sheet">(box), openings: [] }];
        const blocks = (i: number): boolean => {
          const outlines = taken[i] as readonly Outline[];
          if (!touches(boxes[i] as Rect, box, away)) return false;
          return insideOutlines(outlines, box) >= 0 || outlinesDistance(outlines, strip) < away;
        };
        // What stood in the way a step before mostly still does.
        const inWay = inTheWay >= 0 && blocks(inTheWay) ? inTheWay : taken.findIndex((_, i) => blocks(i));
        inTheWay = inWay;
        if (inWay === -1)
          return [
            { x, y },
            { x: x + width, y: y + height },
          ];
      }
  return null;
};

/** Length of cut after which a trailing blade follows the line, however it pointed before. */
export const alignLength = (bladeOffset: Um): Um => Math.max(mm(3), 8 * bladeOffset);
