import { bounds, distanceToContour, insideOutlines, mm, type Outline, type Point, type Rect } from "@kitforme/geometry";

/** Where a piece's number stands, and the radius of the circle that fits there, micrometres. */
export interface Spot {
  readonly at: Point<"drawing">;
  readonly room: number;
}

/** Steps of the grid along the longer side: 24 finds room in arms of a twelfth of the part, at 600 distances a part. */
const STEPS = 24;
/** More room than this is no better: then the spot nearest to the middle wins. */
const ENOUGH = mm(5);

const found = new WeakMap<Outline<"drawing">, Spot>();

/**
 * A roomy spot of a part: inside, off its edges and its openings, and off the words on it. Ties go to the first from the
 * top-left. Found once per part without words.
 *
 * @param words boxes that the number should leave legible
 */
export const spotOf = (part: Outline<"drawing">, words: readonly Rect[] = []): Spot => {
  const known = words.length === 0 ? found.get(part) : undefined;
  if (known) return known;
  const box = bounds(part.outer);
  const step = Math.max(box.width, box.height) / STEPS;
  const [middleX, middleY] = [box.x + box.width / 2, box.y + box.height / 2];
  const rings = [part.outer, ...part.openings];
  let best: Spot = { at: part.outer[0] ?? { x: box.x, y: box.y }, room: 0 };
  let bestOff = Infinity;
  for (let y = box.y + step / 2; y < box.y + box.height; y += step)
    for (let x = box.x + step / 2; x < box.x + box.width; x += step) {
      const off = Math.hypot(x - middleX, y - middleY);
      // With room enough found, only a place nearer to the middle is better.
      if (best.room === ENOUGH && off >= bestOff) continue;
      const at = { x: Math.round(x), y: Math.round(y) };
      let room = Math.min(ENOUGH, ...words.map((word) => outside(word, at)));
      if (room < best.room || insideOutlines([part], at) <= 0) continue;
      for (const ring of rings) {
        room = Math.min(room, distanceToContour(at, ring));
        if (room < best.room) break;
      }
      if (room > best.room || (room === best.room && off < bestOff)) {
        best = { at, room };
        bestOff = off;
      }
    }
  if (words.length === 0) found.set(part, best);
  return best;
};

/** Distance from a box; 0 inside. */
const outside = ({ x, y, width, height }: Rect, p: Point): number =>
  Math.hypot(Math.max(x - p.x, 0, p.x - x - width), Math.max(y - p.y, 0, p.y - y - height));
