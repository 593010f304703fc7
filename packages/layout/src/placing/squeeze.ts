import { fitsBox } from "./catalogue-of.ts";
import type { Catalogue } from "./catalogue.ts";
import { type Reach, Scene } from "./scene.ts";
import { type Patience, separate, type Stop } from "./separate.ts";

/** Pieces of one sheet and where they lie. */
export interface Sheet {
  readonly field: number;
  /** Index of each piece in the caller's list. */
  readonly ids: readonly number[];
  readonly kinds: readonly number[];
  readonly pose: readonly number[];
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** Poses in which a sheet of the scene, by itself, has room for piece `i`. */
export const posesOn = ({ catalogue, fieldOf, kind, inner }: Scene, sheet: number, i: number): number[] =>
  (catalogue.posesOn[fieldOf[sheet] as number]?.[kind[i] as number] ?? []).filter((p) => {
    const box = inner[sheet]?.[p];
    return box !== undefined && fitsBox(box);
  });

/** Lays a piece at a random place of the sheet and moves it once to where it is least in the way. False: the field takes it in no turn. */
export const insert = (scene: Scene, i: number, sheet: number, reach: Reach): boolean => {
  const { chance } = scene;
  const poses = posesOn(scene, sheet, i);
  if (poses.length === 0) return false;
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
  return true;
};

/**
 * The sheet with other pieces put on it as well: they go in with overlaps, which are then removed. `moves` is what it took,
 * also when it failed.
 */
export const squeeze = (
  catalogue: Catalogue,
  sheet: Sheet,
  added: readonly { readonly id: number; readonly kind: number }[],
  seed: number,
  reach: Reach,
  patience: Patience,
  stop: Stop,
): { readonly sheet: Sheet | undefined; readonly moves: number } => {
  const ids = [...sheet.ids, ...added.map((a) => a.id)];
  const kinds = [...sheet.kinds, ...added.map((a) => a.kind)];
  const scene = new Scene(catalogue, kinds, [sheet.field], seed);
  const n = sheet.ids.length;
  for (let i = 0; i < n; i++) scene.put(i, 0, sheet.pose[i] as number, sheet.x[i] as number, sheet.y[i] as number);
  for (let i = n; i < kinds.length; i++)
    if (!insert(scene, i, 0, reach)) return { sheet: undefined, moves: scene.moves };
  if (!separate(scene, reach, patience, stop)) return { sheet: undefined, moves: scene.moves };
  return {
    sheet: { field: sheet.field, ids, kinds, pose: [...scene.pose], x: [...scene.x], y: [...scene.y] },
    moves: scene.moves,
  };
};
