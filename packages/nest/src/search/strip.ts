// Strip packing: a band of fixed height, as short as possible. The engine at its purest, and the one with published tables.
import type { Field, Footprint } from "../shapes/footprint.ts";
import { Catalogue } from "../maps/catalogue.ts";
import type { Wish } from "../start/bed.ts";
import { Chance } from "./chance.ts";
import { fill, orders, type Put } from "../start/fill.ts";
import type { Box } from "../shapes/ring.ts";
import { totalLoss } from "./losses.ts";
import type { Reach } from "./move.ts";
import type { Saved } from "./pieces.ts";
import { Scene } from "./scene.ts";
import { type Patience, separate, type Stop } from "./separate.ts";

export interface StripRequest {
  readonly footprints: readonly Footprint[];
  /** Index into the footprints, one per piece. */
  readonly pieces: readonly number[];
  readonly height: number;
  readonly seed: number;
  /** Share of the way done, 0..1; the search ends at 1. Called between sweeps. */
  readonly done: () => number;
  readonly onBetter?: (length: number) => void;
}

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
const pointsOf = (footprints: readonly Footprint[]): number =>
  footprints.reduce((n, f) => n + f.shape.reduce((m, o) => m + o.outer.length, 0), 0);

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

export const stripCatalogue = (footprints: readonly Footprint[], height: number, longest: number): Catalogue => {
  // Of 47 shapes in four turns every two meet: 4,500 maps, 63 s and more memory than they may have at the finest, 35 s so.
  const many = pointsOf(footprints) > 2000;
  const field: Field = {
    id: "strip",
    width: longest,
    height,
    print: { x: 0, y: 0, width: longest, height },
    cut: { x: 0, y: 0, width: longest, height },
    keepOuts: [],
    clearance: 0,
  };
  return new Catalogue(footprints, [field], {
    clearance: 0,
    many: false,
    growth: many ? { distance: Infinity, share: 0.002, points: 16 } : { distance: Infinity, share: 0.001, points: 60 },
    cells: many ? 32 : 64,
    free: 16,
  });
};

/** Starts by the plain orders and wishes, and by the best order with some pieces exchanged. */
const PLAIN = 16;
const SHUFFLED = 10;
/** Pieces squared times segments of a map, over all starts: about two seconds. */
const WORK = 2e6;

/** The shortest of several constructive layouts: orders by size, then small changes of the best. Within seconds. */
export const startStrip = (
  catalogue: Catalogue,
  pieces: readonly number[],
  height: number,
): { readonly length: number; readonly puts: readonly Put[] } => {
  const { minX, minY, maxX, maxY } = catalogue;
  const right: Wish = (p, x, y) => x + maxX[p] + 1e-3 * y;
  const low: Wish = (p, x, y) => x + maxX[p] + 0.05 * (y + maxY[p]);
  const edge: Wish = (p, x, y) => x + maxX[p] - 0.05 * Math.abs(y + (minY[p] + maxY[p]) / 2 - height / 2);
  const middle: Wish = (p, x, y) => x + (minX[p] + maxX[p]) / 2 + 1e-3 * y;
  let best: { length: number; puts: readonly Put[]; order: Int32Array; wish: Wish; thorough: boolean } | undefined;
  const attempt = (order: Int32Array, wish: Wish, thorough: boolean): void => {
    const { beds, over } = fill(
      catalogue,
      pieces,
      order,
      () => 0,
      [Infinity],
      () => wish,
      (_, k) => catalogue.posesOn[0][k],
      { thorough, maxSheets: 1 },
    );
    const puts = beds[0]?.puts ?? [];
    if (over.length > 0) return;
    const length = Math.max(...puts.map((p) => p.x + maxX[p.pose]));
    if (!best || length < best.length) best = { length, puts, order, wish, thorough };
  };
  const sorted = orders(catalogue, pieces);
  const first = catalogue.maps[catalogue.pair(0, 0)];
  const share = Math.min(1, WORK / (pieces.length ** 2 * first.slit.length) / (PLAIN + SHUFFLED));
  const plain = [right, low, edge, middle].flatMap((wish) =>
    sorted.map((order) => () => attempt(order, wish, wish !== middle)),
  );
  for (const start of plain.slice(0, Math.max(1, Math.round(PLAIN * share)))) start();
  if (!best) throw new Error("strip: a piece is higher than the strip");
  const chance = new Chance(pieces.length);
  for (let k = 0; k < Math.round(SHUFFLED * share); k++) {
    const order = best.order.slice();
    for (let q = 0; q < Math.ceil(order.length / 8); q++) {
      const i = chance.below(order.length - 1);
      const j = Math.min(order.length - 1, i + 1 + chance.below(4));
      const held = order[i];
      order[i] = order[j];
      order[j] = held;
    }
    attempt(order, best.wish, best.thorough);
  }
  return best;
};

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

  /** Shortens to `length`: what lies beyond `cut` moves left by the difference, all back within the strip. */
  shorten(length: number, cut: number): void {
    const { scene } = this;
    const by = this.length - length;
    this.limit(length);
    for (let i = 0; i < scene.n; i++) {
      const p = scene.pose[i];
      const box = this.#boxes[p];
      const middle = scene.x[i] + (scene.catalogue.minX[p] + scene.catalogue.maxX[p]) / 2;
      let x = middle > cut ? scene.x[i] - by : scene.x[i];
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

/** Swaps two large pieces that differ; small ones that end up inside the swapped ones go to the vacated places. */
export const disrupt = (scene: Scene): void => {
  const { chance, catalogue, n } = scene;
  const size = (i: number) => catalogue.lambda[scene.kind[i]] ** 4;
  const sorted = Array.from({ length: n }, (_, i) => i).sort((a, b) => size(b) - size(a) || a - b);
  let sum = 0;
  const all = sorted.reduce((t, i) => t + size(i), 0);
  const large: number[] = [];
  for (const i of sorted) {
    if (sum > 0.75 * all && large.length > 1) break;
    large.push(i);
    sum += size(i);
  }
  const first = large[chance.below(large.length)];
  const others = large.filter((i) => scene.kind[i] !== scene.kind[first]);
  const second = others.length > 0 ? others[chance.below(others.length)] : large[chance.below(large.length)];
  if (first === second) return;
  const centre = (i: number): [number, number] => {
    const p = scene.pose[i];
    return [
      scene.x[i] + (catalogue.minX[p] + catalogue.maxX[p]) / 2,
      scene.y[i] + (catalogue.minY[p] + catalogue.maxY[p]) / 2,
    ];
  };
  const [ax, ay] = centre(first);
  const [bx, by] = centre(second);
  const to = (i: number, sheet: number, cx: number, cy: number): void => {
    const p = scene.pose[i];
    scene.shift(
      i,
      sheet,
      p,
      cx - (catalogue.minX[p] + catalogue.maxX[p]) / 2,
      cy - (catalogue.minY[p] + catalogue.maxY[p]) / 2,
    );
  };
  const [sa, sb] = [scene.sheet[first], scene.sheet[second]];
  to(first, sb, bx, by);
  to(second, sa, ax, ay);
};

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
    (share: number): Stop =>
    () =>
      done() >= share;
  // Explore: shorten until it no longer separates, then disturb.
  const EXPLORATION = 0.8;
  const explore = exploring(footprints, pieces.length);
  let step = 0.01;
  let pool: { loss: number; saved: Saved }[] = [];
  strip.shorten(best.length * (1 - step), scene.chance.unit() * best.length);
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
      strip.shorten(best.length * (1 - step), scene.chance.unit() * best.length);
      pool = [];
      continue;
    }
    const loss = totalLoss(scene);
    const at = pool.findIndex((p) => p.loss > loss);
    pool.splice(at < 0 ? pool.length : at, 0, { loss, saved: scene.save() });
    if (pool.length > 20) pool.pop();
    const pick = Math.min(pool.length - 1, Math.floor(Math.abs(scene.chance.normal() * 0.25) * pool.length));
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
    strip.shorten(best.length * (1 - shrink), scene.chance.unit() * best.length);
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
