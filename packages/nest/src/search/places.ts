/** A place for a piece, and what it would lose there. */
export interface Place {
  sheet: number;
  pose: number;
  x: number;
  y: number;
  loss: number;
}

/** Places kept for refining. */
const KEPT = 3;
/** Parts of a piece's shorter side within which two places are one. */
const NEAR = 0.05;

/** The few best places of a move, no two of them side by side. */
export class Places {
  readonly kept: readonly Place[] = Array.from({ length: KEPT }, () => ({
    sheet: -1,
    pose: -1,
    x: 0,
    y: 0,
    loss: Infinity,
  }));

  clear(): void {
    for (const place of this.kept) {
      place.sheet = -1;
      place.loss = Infinity;
    }
  }

  /** Loss from which on a place is of no interest. */
  limit(): number {
    const [a, b, c] = this.kept;
    return Math.max(a.loss, b.loss, c.loss);
  }

  /** `side`: the shorter side of the piece at this pose. */
  offer(loss: number, sheet: number, pose: number, x: number, y: number, side: number): void {
    const near = side * NEAR;
    let worst = this.kept[0];
    for (const place of this.kept) {
      if (
        place.sheet === sheet &&
        place.pose === pose &&
        Math.abs(place.x - x) < near &&
        Math.abs(place.y - y) < near &&
        place.loss < Infinity
      ) {
        if (loss < place.loss) {
          place.loss = loss;
          place.x = x;
          place.y = y;
        }
        return;
      }
      if (place.loss > worst.loss) worst = place;
    }
    if (loss >= worst.loss) return;
    worst.loss = loss;
    worst.sheet = sheet;
    worst.pose = pose;
    worst.x = x;
    worst.y = y;
  }
}
