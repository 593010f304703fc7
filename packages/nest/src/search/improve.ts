import type { Catalogue } from "../maps/catalogue.ts";
import type { Layout } from "../pack/layout.ts";
import type { Saved } from "./pieces.ts";
import { Scene } from "./scene.ts";
import { type Budget, type Patience, separate } from "./separate.ts";
import { insert, posesOn } from "./squeeze.ts";

/** Sheets fuller than this are out of reach for most shapes: little is spent on trying. */
const FULL = 0.94;

/** Attempts with pieces of one kind before the rest of them stay where they are. */
const TRIES = 2;

/** The scene of a layout; pieces not placed are on no sheet. */
const sceneOf = (catalogue: Catalogue, layout: Layout, seed: number): Scene => {
  const scene = new Scene(catalogue, layout.kinds, layout.fields, seed);
  layout.sheet.forEach((sheet, i) => {
    if (sheet >= 0) scene.put(i, sheet, layout.pose[i], layout.x[i], layout.y[i]);
    else scene.sheet[i] = -1;
  });
  for (let i = 0; i < scene.n; i++) if (scene.sheet[i] >= 0) scene.settle(i);
  return scene;
};

const layoutOf = (scene: Scene, fields: readonly number[]): Layout => ({
  fields,
  kinds: [...scene.kind],
  sheet: [...scene.sheet],
  pose: [...scene.pose],
  x: [...scene.x],
  y: [...scene.y],
});

const takes = (scene: Scene, sheet: number, i: number): boolean => posesOn(scene, sheet, i).length > 0;

/**
 * Empties the least filled sheets into the others, piece by piece, large ones first: each goes in with overlaps, which are
 * then removed over all sheets at once. What cannot go in stays. One sheet after the other vanishes; the last one that
 * holds out is left as empty as it got. Pieces not placed yet are tried first.
 */
export const empty = (
  from: Catalogue,
  layout: Layout,
  room: readonly number[],
  seed: number,
  budget: Budget,
): Layout => {
  const scene = sceneOf(from, layout, seed);
  const areaOf = (i: number): number => from.kinds[scene.kind[i]].area;
  const spent = (): boolean => scene.moves >= budget.moves || budget.aborted();
  const alive = layout.fields.map((_, s) => s).filter((s) => scene.count[s] > 0);
  const closed = new Set<number>(layout.fields.map((_, s) => s).filter((s) => scene.count[s] === 0));
  const fill = (s: number): number => {
    let sum = 0;
    for (let q = 0; q < scene.count[s]; q++) sum += areaOf(scene.members[s][q]);
    return sum;
  };
  const open = (): number[] => alive.filter((s) => !closed.has(s));
  const freeOf = (s: number): number => room[layout.fields[s]] - fill(s);
  const attempt = (change: () => void, patience: Patience, until: () => boolean): boolean => {
    const before: Saved = scene.save();
    scene.forget();
    change();
    if (separate(scene, budget.reach, patience, until)) return true;
    scene.restore(before);
    return false;
  };
  /** Tries to get piece `i` into the open sheets; leaves all as it was if that fails. */
  const go = (i: number, patience: Patience, until: () => boolean): boolean => {
    const targets = open().filter((s) => takes(scene, s, i));
    if (targets.length === 0 || targets.reduce((sum, s) => sum + freeOf(s), 0) < areaOf(i)) return false;
    // Where most is free, give or take a random part.
    const score = targets.map((s) => freeOf(s) * (0.6 + 0.8 * scene.dice.unit()));
    const target = targets[score.indexOf(Math.max(...score))];
    return attempt(
      () => {
        if (scene.sheet[i] >= 0) scene.take(i);
        insert(scene, i, target, budget.reach);
      },
      patience,
      until,
    );
  };
  /** Tries to change piece `i` of the sheet to be emptied for a smaller one of an open sheet. */
  const swap = (i: number, closing: number, patience: Patience, until: () => boolean): boolean => {
    const others: number[] = [];
    for (const s of open())
      if (takes(scene, s, i))
        for (let q = 0; q < scene.count[s]; q++) {
          const j = scene.members[s][q];
          const fraction = areaOf(j) / areaOf(i);
          if (fraction < 0.95 && fraction > 0.2 && takes(scene, closing, j)) others.push(j);
        }
    if (others.length === 0) return false;
    const j = others[scene.dice.below(others.length)];
    const to = scene.sheet[j];
    return attempt(
      () => {
        scene.take(i);
        scene.take(j);
        insert(scene, j, closing, budget.reach);
        insert(scene, i, to, budget.reach);
      },
      patience,
      until,
    );
  };
  scene.shut = closed;
  for (let i = 0; i < scene.n; i++) if (scene.sheet[i] < 0 && !spent()) go(i, budget.patience, spent);
  while (open().length > 1 && !spent()) {
    const [closing] = open().sort((a, b) => fill(a) - fill(b) || a - b) as [number];
    closed.add(closing);
    const waiting = (): number[] =>
      [...scene.members[closing].subarray(0, scene.count[closing])].sort((a, b) => areaOf(b) - areaOf(a) || a - b);
    const roomLeft = open().reduce((sum, s) => sum + room[layout.fields[s]], 0);
    const full = (open().reduce((sum, s) => sum + fill(s), 0) + fill(closing)) / roomLeft;
    // A sheet that can hardly be saved is emptied a little all the same, for what may come after.
    const limit = full > FULL ? Math.min(budget.moves, scene.moves + budget.moves * 0.1) : budget.moves;
    const until = (): boolean => scene.moves >= limit || budget.aborted();
    for (let round = 0; scene.count[closing] > 0 && !until(); round++) {
      let gained = false;
      const hopeless = new Map<number, number>();
      for (const i of waiting()) {
        if (until()) break;
        const kind = scene.kind[i];
        const misses = hopeless.get(kind) ?? 0;
        if (misses < TRIES && go(i, budget.patience, until)) gained = true;
        else hopeless.set(kind, misses + 1);
      }
      if (gained) continue;
      const left = waiting();
      for (let k = 0; k < 3 * left.length && !until(); k++)
        if (swap(left[scene.dice.below(left.length)], closing, budget.patience, until)) break;
    }
    if (scene.count[closing] > 0) break;
  }
  const used = layout.fields.map((_, s) => s).filter((s) => scene.count[s] > 0);
  const renumber = new Map(used.map((s, k) => [s, k]));
  const result = layoutOf(
    scene,
    used.map((s) => layout.fields[s]),
  );
  return { ...result, sheet: result.sheet.map((s) => renumber.get(s) ?? -1) };
};
