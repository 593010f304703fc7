import { collides, reweigh, totalLoss } from "./losses.ts";
import type { Reach } from "./move.ts";
import type { Saved } from "./pieces.ts";
import type { Scene } from "./scene.ts";

export interface Patience {
  /** Sweeps without 2 % less loss that end an attempt. */
  readonly sweeps: number;
  /** Attempts that gain less than 2 % before giving up. */
  readonly strikes: number;
  /** More loss than this after the first sweep ends the attempt. */
  readonly most?: number;
}

/** What a search may spend. */
export interface Budget {
  /** Moves of single pieces the search may make. */
  readonly moves: number;
  readonly patience: Patience;
  readonly reach: Reach;
  /** More overlap after the first sweep than so many parts of what is usual before it: not gone on with. */
  readonly hope?: number;
  readonly aborted: () => boolean;
}

/** Asked between sweeps: whether to stop here. */
export type Stop = () => boolean;

/**
 * Moves colliding pieces until none collides (true) or patience ends (false; the scene is left at the least loss seen).
 * Weights outlive attempts: what was in the way stays expensive.
 */
export const separate = (scene: Scene, reach: Reach, patience: Patience, stop: Stop): boolean => {
  const order = new Int32Array(scene.n);
  let least = totalLoss(scene);
  let best: Saved | undefined = least > 0 ? scene.save() : undefined;
  let strikes = 0;
  let first = true;
  while (least > 0 && strikes < patience.strikes) {
    const atStart = least;
    let mark = least;
    let idle = 0;
    while (idle < patience.sweeps) {
      let m = 0;
      for (let i = 0; i < scene.n; i++) if (scene.sheet[i] >= 0 && collides(scene, i)) order[m++] = i;
      scene.dice.shuffle(order, m);
      for (let k = 0; k < m; k++) {
        const i = order[k];
        if (collides(scene, i)) scene.move(i, reach);
      }
      const total = totalLoss(scene);
      if (total === 0) return true;
      if (total < least) {
        least = total;
        best = scene.save();
      }
      if (first && least > (patience.most ?? Infinity)) return false;
      first = false;
      if (total < mark * 0.98) {
        mark = total;
        idle = 0;
      } else idle++;
      reweigh(scene);
      if (stop()) {
        if (best) scene.restore(best);
        return false;
      }
    }
    if (best) scene.restore(best);
    strikes = least > atStart * 0.98 ? strikes + 1 : 0;
  }
  return least === 0;
};
