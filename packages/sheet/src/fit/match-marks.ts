import { type Affine, mapped, type Place, similarity } from "./solve.ts";

/** How the seen marks lie to the planned ones. */
export interface Match {
  /** For each planned mark the index of the seen one. */
  readonly seen: readonly number[];
  /** Degrees counter-clockwise that the sheet is turned; of a mirrored reading the turn after the mirror. */
  readonly turn: number;
  readonly mirrored: boolean;
  readonly scale: number;
  /** Root of the mean square of what remains, mm. */
  readonly rms: number;
}

/** Scales looked for: paper, toner and cameras differ by thousandths, a wrong unit by far more. */
const LEAST_SCALE = 0.9;
const MOST_SCALE = 1.1;

/**
 * Which seen mark is which: by their pattern, not by their order. Every ordered pair of seen marks is tried as the two
 * planned marks farthest apart, plain and mirrored; the rest must fall one to one on the others.
 *
 * @param marks as planned and as seen, equally many, mm
 * @returns the best match, or none when no turn, mirror and scale near 1 brings the marks one to one onto each other
 */
export const matchMarks = (marks: readonly Place[], seen: readonly Place[]): Match | undefined => {
  const [a, b] = farthest(marks);
  let best: Match | undefined;
  for (const mirrored of [false, true])
    for (let i = 0; i < seen.length; i++)
      for (let j = 0; j < seen.length; j++) {
        if (i === j) continue;
        const rough = similarity([marks[a], marks[b]] as Place[], [seen[i], seen[j]] as Place[], mirrored);
        const scale = Math.hypot(rough.a, rough.b);
        if (scale < LEAST_SCALE || scale > MOST_SCALE) continue;
        const order = oneToOne(marks, seen, rough);
        if (!order) continue;
        const match = judged(marks, seen, order, mirrored);
        if (!best || match.rms < best.rms - 1e-9) best = match;
      }
  return best;
};

const farthest = (places: readonly Place[]): [number, number] => {
  let best: [number, number] = [0, 1];
  let most = -1;
  places.forEach((p, i) => {
    for (let j = i + 1; j < places.length; j++) {
      const q = places[j] as Place;
      const d = (p.x - q.x) ** 2 + (p.y - q.y) ** 2;
      if (d > most) [best, most] = [[i, j], d];
    }
  });
  return best;
};

/** The seen mark nearest to where each mark is expected; none when two marks want the same. */
const oneToOne = (marks: readonly Place[], seen: readonly Place[], map: Affine): number[] | undefined => {
  const order = marks.map((mark) => {
    const p = mapped(map, mark);
    let best = 0;
    seen.forEach((s, i) => {
      const b = seen[best] as Place;
      if ((s.x - p.x) ** 2 + (s.y - p.y) ** 2 < (b.x - p.x) ** 2 + (b.y - p.y) ** 2) best = i;
    });
    return best;
  });
  return new Set(order).size === order.length ? order : undefined;
};

const judged = (
  marks: readonly Place[],
  seen: readonly Place[],
  order: readonly number[],
  mirrored: boolean,
): Match => {
  const to = order.map((i) => seen[i] as Place);
  const map = similarity(marks, to, mirrored);
  const square = marks.reduce((sum, mark, i) => {
    const p = mapped(map, mark);
    return sum + (p.x - (to[i] as Place).x) ** 2 + (p.y - (to[i] as Place).y) ** 2;
  }, 0);
  return {
    seen: order,
    turn: (Math.atan2(map.b, map.a) * 180) / Math.PI,
    mirrored,
    scale: Math.hypot(map.a, map.b),
    rms: Math.sqrt(square / marks.length),
  };
};
