import type { Catalogue } from "./catalogue.ts";
import { type Reach, type Saved, Scene } from "./scene.ts";
import { type Patience, separate } from "./separate.ts";

/** Pieces lying on sheets, without overlap: what the search starts from and comes back with. */
export interface Laid {
  /** Field of each sheet. */
  readonly fields: readonly number[];
  /** Per piece: its kind, sheet, pose and place. A sheet of -1: not laid yet. */
  readonly kinds: readonly number[];
  readonly sheet: readonly number[];
  readonly pose: readonly number[];
  readonly x: readonly number[];
  readonly y: readonly number[];
}

export interface Budget {
  /** Moves of single pieces the search may make. */
  readonly moves: number;
  readonly patience: Patience;
  readonly reach: Reach;
  readonly aborted: () => boolean;
  readonly onMoves?: (done: number) => void;
}

/** A layout fuller than this is out of reach for pieces of any shape: not even tried. */
const FULL = 0.995;

/** Attempts with pieces of one kind before the rest of them stay where they are. */
const TRIES = 2;

/** The scene of a layout; pieces not laid are on no sheet. */
const sceneOf = (catalogue: Catalogue, laid: Laid, seed: number): Scene => {
  const scene = new Scene(catalogue, laid.kinds, laid.fields, seed);
  laid.sheet.forEach((sheet, i) => {
    if (sheet >= 0) scene.put(i, sheet, laid.pose[i] as number, laid.x[i] as number, laid.y[i] as number);
    else scene.sheet[i] = -1;
  });
  for (let i = 0; i < scene.n; i++) if ((scene.sheet[i] as number) >= 0) scene.settle(i);
  return scene;
};

const laidOf = (scene: Scene, fields: readonly number[]): Laid => ({
  fields,
  kinds: [...scene.kind],
  sheet: [...scene.sheet],
  pose: [...scene.pose],
  x: [...scene.x],
  y: [...scene.y],
});

/** Lays a piece at a random place of the sheet and moves it once to where it is least in the way. */
const insert = (scene: Scene, i: number, sheet: number, reach: Reach): void => {
  const { catalogue, chance } = scene;
  const poses = (catalogue.posesOn[scene.fieldOf[sheet] as number]?.[scene.kind[i] as number] ?? []).filter((p) => {
    const box = scene.inner[sheet]?.[p];
    return box && box.maxX >= box.minX && box.maxY >= box.minY;
  });
  const pose = poses[chance.below(poses.length)] as number;
  const box = scene.inner[sheet]?.[pose] as { minX: number; minY: number; maxX: number; maxY: number };
  scene.put(
    i,
    sheet,
    pose,
    Math.round(box.minX + chance.unit() * (box.maxX - box.minX)),
    Math.round(box.minY + chance.unit() * (box.maxY - box.minY)),
  );
  scene.settle(i);
  scene.move(i, { anywhere: reach.anywhere * 4, nearby: reach.nearby });
};

const takes = (scene: Scene, sheet: number, i: number): boolean =>
  (catalogue(scene).posesOn[scene.fieldOf[sheet] as number]?.[scene.kind[i] as number] ?? []).some((p) => {
    const box = scene.inner[sheet]?.[p];
    return box !== undefined && box.maxX >= box.minX && box.maxY >= box.minY;
  });
const catalogue = (scene: Scene): Catalogue => scene.catalogue;

/**
 * Empties the least filled sheets into the others, piece by piece, large ones first: each goes in with overlaps, which are
 * then removed over all sheets at once. What cannot go in stays. One sheet after the other vanishes; the last one that
 * holds out is left as empty as it got. Pieces not laid yet are tried first.
 */
export const empty = (from: Catalogue, laid: Laid, room: readonly number[], seed: number, budget: Budget): Laid => {
  const scene = sceneOf(from, laid, seed);
  const areaOf = (i: number): number => from.kinds[scene.kind[i] as number]?.area as number;
  const spent = (): boolean => scene.moves >= budget.moves || budget.aborted();
  const alive = laid.fields.map((_, s) => s).filter((s) => (scene.count[s] as number) > 0);
  const closed = new Set<number>(laid.fields.map((_, s) => s).filter((s) => (scene.count[s] as number) === 0));
  const fill = (s: number): number => {
    let sum = 0;
    for (let q = 0; q < (scene.count[s] as number); q++) sum += areaOf(scene.members[s]?.[q] as number);
    return sum;
  };
  /** Tries to get piece `i` into the open sheets; leaves all as it was if that fails. */
  const go = (i: number): boolean => {
    const open = alive.filter((s) => !closed.has(s) && takes(scene, s, i));
    if (open.length === 0) return false;
    const free = open.map((s) => (room[laid.fields[s] as number] as number) * FULL - fill(s));
    const sum = free.reduce((a, b) => a + Math.max(0, b), 0);
    if (sum < areaOf(i)) return false;
    const before: Saved = scene.save();
    const held = scene.sheet[i] as number;
    // Where most is free, give or take some chance.
    let at = 0;
    for (let k = 1; k < open.length; k++)
      if ((free[k] as number) * (0.7 + 0.6 * scene.chance.unit()) > (free[at] as number)) at = k;
    if (held >= 0) scene.take(i);
    scene.forget();
    insert(scene, i, open[at] as number, budget.reach);
    if (separate(scene, budget.reach, budget.patience, spent)) return true;
    scene.restore(before);
    return false;
  };
  scene.shut = closed;
  for (let i = 0; i < scene.n; i++) if ((scene.sheet[i] as number) < 0 && !spent()) go(i);
  const all = (): number => alive.filter((s) => !closed.has(s)).length;
  while (all() > 1 && !spent()) {
    const [least] = alive.filter((s) => !closed.has(s)).sort((a, b) => fill(a) - fill(b) || a - b) as [number];
    closed.add(least);
    const waiting = [...(scene.members[least] as Int32Array).subarray(0, scene.count[least])].sort(
      (a, b) => areaOf(b) - areaOf(a) || a - b,
    );
    let failed = 0;
    const hopeless = new Map<number, number>();
    for (const i of waiting) {
      if (spent()) break;
      const kind = scene.kind[i] as number;
      const misses = hopeless.get(kind) ?? 0;
      if (misses >= TRIES || !go(i)) {
        hopeless.set(kind, misses + 1);
        failed++;
      }
      budget.onMoves?.(scene.moves);
    }
    if (failed > 0 || spent()) break;
  }
  const used = laid.fields.map((_, s) => s).filter((s) => (scene.count[s] as number) > 0);
  const renumber = new Map(used.map((s, k) => [s, k]));
  const result = laidOf(
    scene,
    used.map((s) => laid.fields[s] as number),
  );
  return { ...result, sheet: result.sheet.map((s) => renumber.get(s) ?? -1) };
};
