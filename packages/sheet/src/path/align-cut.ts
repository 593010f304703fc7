import { mm, type Outline, outlinesDistance, type Path, type Rect, type Um } from "@kitforme/geometry";

/** Paper left between the cut and whatever must not be touched. */
const CLEAR = mm(0.5);
/** Places are looked at this far apart. */
const STEP = mm(4);

/**
 * A short straight cut in the waste. A trailing blade that points anywhere is brought into line by it: what is left of the
 * angle shrinks by e for every offset's length cut, so eight of them leave no more than a thousandth.
 *
 * @param room where cuts may lie
 * @param taken what the cut keeps away from
 * @returns null when there is no room for it
 */
export const alignCut = (room: Rect, taken: readonly (readonly Outline[])[], bladeOffset: Um): Path<"sheet"> | null => {
  const length = Math.max(mm(3), 8 * bladeOffset);
  for (let y = room.y + CLEAR; y <= room.y + room.height - CLEAR; y += STEP)
    for (let x = room.x + CLEAR; x + length <= room.x + room.width - CLEAR; x += STEP) {
      const cut = [
        { x, y },
        { x: x + length, y },
      ];
      const strip = [...cut, { x: x + length, y: y + 1 }, { x, y: y + 1 }];
      const free = taken.every(
        (outlines) => outlinesDistance(outlines, [{ outer: strip, openings: [] }]) >= CLEAR + bladeOffset,
      );
      if (free) return cut;
    }
  return null;
};
