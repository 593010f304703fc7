// Strip packing: a band of fixed height, as short as possible. The engine at its purest, and the one with published tables.
import type { Footprint } from "../shapes/footprint.ts";
import type { Box } from "../shapes/ring.ts";
import { totalLoss } from "./losses.ts";
import type { Reach } from "./move.ts";
import type { Saved } from "./pieces.ts";
import { Scene } from "./scene.ts";
import { type Patience, separate, type Stop } from "./separate.ts";
import { disrupt } from "./disrupt.ts";
import { pointsOf, stripCatalogue } from "./strip-catalogue.ts";
import { startStrip } from "./strip-start.ts";

/** Shapes to be placed on a strip of fixed height, as short as can be. Micrometres. */
export interface StripRequest {
  readonly footprints: readonly Footprint[];
  /** Index into the footprints, one per piece. */
  readonly pieces: readonly number[];
  readonly height: number;
  readonly seed: number;
  /** How much is done, 0..1; the search ends at 1. Called between sweeps. */
  readonly done: () => number;
  readonly onBetter?: (length: number) => void;
}

/** Where each piece lies on the strip, and how long the strip is. Micrometres. */
export interface StripResult {
  readonly length: number;
  /** Length of the constructive start alone. */
  readonly start: number;
  readonly placements: readonly {
    readonly piece: number;
    readonly turn: number;
    readonly x: number;
    readonly y: number;
  }[];
  readonly moves: number;
  readonly evaluations: number;
}

const REACH: Reach = { anywhere: 50, nearby: 25 };
/** Points of an outline, on the average, that make a shape intricate. */
const INTRICATE = 40;

/**
 * Few pieces settle soon, and another start is worth more than waiting; of many, whose overlaps wander, half of the attempts
 * come off late. Intricate ones do better when brought back to the best now and then (gardeyn1, 80 s: 88.6 and 87.3 %).
 */
const exploring = (footprints: readonly Footprint[], pieces: number): Patience => {
  if (pieces <= 30) return { sweeps: 30, strikes: 1 };
  return pointsOf(footprints) > INTRICATE * footprints.length
    ? { sweeps: 80, strikes: 3 }
    : { sweeps: 200, strikes: 1 };
};
const COMPRESS: Patience = { sweeps: 60, strikes: 4 };

class Strip {
  readonly scene: Scene;
  length: number;
  readonly #boxes: Box[];

  constructor(scene: Scene, length: number) {
    this.scene = scene;
    this.length = length;
    this.#boxes = scene.inner[0].map((b) => ({ ...b }));
    scene.inner[0] = this.#boxes;
    this.limit(length);
  }

  limit(length: number): void {
    this.length = length;
    this.#boxes.forEach((box, p) => {
      box.maxX = Math.floor(length - this.scene.catalogue.maxX[p]);
    });
  }

  /** Shortens to `length`: what lies beyond `seam` moves left by the difference, all back within the strip. */
  shorten(length: number, seam: number): void {
    const { scene } = this;
    const by = this.length - length;
    this.limit(length);
    for (let i = 0; i < scene.n; i++) {
      const p = scene.pose[i];
      const box = this.#boxes[p];
      const middle = scene.x[i] + (scene.catalogue.minX[p] + scene.catalogue.maxX[p]) / 2;
      let x = middle > seam ? scene.x[i] - by : scene.x[i];
      x = Math.round(Math.min(box.maxX, Math.max(box.minX, x)));
      scene.x[i] = x;
    }
    scene.recount();
  }

  used(): number {
    const { scene } = this;
    let most = 0;
    for (let i = 0; i < scene.n; i++) most = Math.max(most, scene.x[i] + scene.catalogue.maxX[scene.pose[i]]);
    return most;
  }
}

/** Places all pieces on a strip of fixed height and shortens it until `done` says 1. Throws nothing; the caller's clock decides how long it takes. */
export const layStrip = (request: StripRequest): StripResult => {
  const { footprints, pieces, height, done } = request;
  const area = pieces.reduce(
    (sum, k) =>
      sum +
      (footprints[k]?.shape ?? []).reduce(
        (t, o) =>
          t +
          Math.abs(
            o.outer.reduce((u, p, i) => {
              const q = o.outer[(i + 1) % o.outer.length] as { x: number; y: number };
              return u + p.x * q.y - q.x * p.y;
            }, 0),
          ) /
            2,
        0,
      ),
    0,
  );
  const longest = Math.ceil(
    (area / height) * 4 +
      Math.max(
        ...footprints.flatMap((f) => f.shape.flatMap((o) => o.outer.map((p) => Math.abs(p.x) + Math.abs(p.y)))),
      ) *
        2,
  );
  const catalogue = stripCatalogue(footprints, height, longest);
  const start = startStrip(catalogue, pieces, height);
  const scene = new Scene(catalogue, pieces, [0], request.seed);
  for (const p of start.puts) scene.put(p.item, 0, p.pose, p.x, p.y);
  const strip = new Strip(scene, start.length);
  scene.recount();
  let best: { length: number; saved: Saved } = { length: start.length, saved: scene.save() };
  const stopAt =
    (fraction: number): Stop =>
    () =>
      done() >= fraction;
  // Explore: shorten until it no longer separates, then disturb.
  const EXPLORATION = 0.8;
  const explore = exploring(footprints, pieces.length);
  let step = 0.01;
  let pool: { loss: number; saved: Saved }[] = [];
  strip.shorten(best.length * (1 - step), scene.dice.unit() * best.length);
  while (done() < EXPLORATION) {
    if (separate(scene, REACH, explore, stopAt(EXPLORATION))) {
      const used = Math.min(strip.length, strip.used());
      best = { length: used, saved: scene.save() };
      request.onBetter?.(used);
      pool = [];
      scene.weight.fill(1);
      strip.length = used;
      strip.shorten(used * (1 - step), used / 2);
      continue;
    }
    if (step > 0.001) {
      // Too much at once: back to the best, a smaller step.
      step = Math.max(0.001, step * 0.4);
      scene.restore(best.saved);
      scene.weight.fill(1);
      strip.limit(best.length);
      strip.shorten(best.length * (1 - step), scene.dice.unit() * best.length);
      pool = [];
      continue;
    }
    const loss = totalLoss(scene);
    const at = pool.findIndex((p) => p.loss > loss);
    pool.splice(at < 0 ? pool.length : at, 0, { loss, saved: scene.save() });
    if (pool.length > 20) pool.pop();
    const pick = Math.min(pool.length - 1, Math.floor(Math.abs(scene.dice.normal() * 0.25) * pool.length));
    scene.restore((pool[pick] as (typeof pool)[0]).saved);
    disrupt(scene);
    scene.weight.fill(1);
  }
  // Compress: ever smaller steps from the best.
  while (done() < 1) {
    const along = Math.min(1, Math.max(0, (done() - EXPLORATION) / (1 - EXPLORATION)));
    const shrink = 0.0005 + (0.00001 - 0.0005) * along;
    scene.restore(best.saved);
    scene.weight.fill(1);
    strip.limit(best.length);
    strip.shorten(best.length * (1 - shrink), scene.dice.unit() * best.length);
    if (separate(scene, REACH, COMPRESS, stopAt(1))) {
      const used = Math.min(strip.length, strip.used());
      best = { length: used, saved: scene.save() };
      request.onBetter?.(used);
    }
  }
  return {
    length: best.length,
    start: start.length,
    placements: pieces.map((_, i) => ({
      piece: i,
      turn: catalogue.poses[best.saved.pose[i]].turn,
      x: best.saved.x[i],
      y: best.saved.y[i],
    })),
    moves: scene.moves,
    evaluations: scene.evaluations,
  };
};
