import type { Path, Point, Space } from "@kitforme/geometry";

/** A place along a line, not rounded. */
export type Place = { readonly x: number; readonly y: number };

/** A line measured from its first point on: places and stretches by the length along it. Micrometres, not rounded inside. */
export interface Along<S extends Space> {
  readonly length: number;
  readonly at: (distance: number) => Place;
  /** The stretch from one length to another, ends included, as whole micrometres. Past the end of a ring it goes round again. */
  readonly stretch: (from: number, to: number) => Path<S>;
}

const whole = <S extends Space>({ x, y }: Place): Point<S> => ({ x: Math.round(x) + 0, y: Math.round(y) + 0 });

/** @param ring whether the last point is joined to the first */
export const along = <S extends Space>(points: Path<S>, ring: boolean): Along<S> => {
  const line = ring ? [...points, points[0] as Point<S>] : points;
  const sums = [0];
  for (let i = 1; i < line.length; i++) {
    const [p, q] = [line[i - 1] as Place, line[i] as Place];
    sums.push((sums.at(-1) as number) + Math.hypot(q.x - p.x, q.y - p.y));
  }
  const length = sums.at(-1) as number;
  /** The last vertex that lies no farther than `distance`. */
  const vertexBefore = (distance: number): number => {
    let [low, high] = [0, sums.length - 1];
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((sums[middle] as number) <= distance) low = middle;
      else high = middle;
    }
    return low;
  };
  const at = (distance: number): Place => {
    const d = ring ? distance - Math.floor(distance / length) * length : Math.min(Math.max(distance, 0), length);
    const i = vertexBefore(d);
    const [p, q] = [line[i] as Place, line[i + 1] ?? (line[i] as Place)];
    const step = (sums[i + 1] ?? length) - (sums[i] as number);
    const t = step > 0 ? (d - (sums[i] as number)) / step : 0;
    return { x: p.x + t * (q.x - p.x), y: p.y + t * (q.y - p.y) };
  };
  const stretch = (from: number, to: number): Path<S> => {
    const out = [whole<S>(at(from))];
    const add = (p: Point<S>): void => {
      const last = out.at(-1) as Point;
      if (p.x !== last.x || p.y !== last.y) out.push(p);
    };
    const rounds = ring ? Math.ceil(to / length) : 1;
    for (let round = 0; round < rounds; round++)
      for (let i = 0; i < line.length; i++) {
        const d = (sums[i] as number) + round * length;
        if (d > from && d < to) add(line[i] as Point<S>);
      }
    add(whole(ring && Math.abs(to - Math.round(to / length) * length) < 0.5 ? (line[0] as Place) : at(to)));
    return out;
  };
  return { length, at, stretch };
};
