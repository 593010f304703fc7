import { fitsBox } from "../maps/room.ts";
import type { Catalogue } from "../maps/catalogue.ts";
import type { SheetPieces } from "../pack/layout.ts";
import { totalLoss } from "./losses.ts";
import type { Reach } from "./move.ts";
import { Scene } from "./scene.ts";
import { type Budget, separate } from "./separate.ts";

/** The sheet without those of its pieces. */
export const without = (s: SheetPieces, gone: readonly number[]): SheetPieces => {
  const keep = s.ids.map((_, k) => k).filter((k) => !gone.includes(k));
  const pick = (values: readonly number[]): number[] => keep.map((k) => values[k]);
  return { field: s.field, ids: pick(s.ids), kinds: pick(s.kinds), pose: pick(s.pose), x: pick(s.x), y: pick(s.y) };
};

/** Poses in which a sheet of the scene, by itself, has room for piece `i`. */
export const posesOn = ({ catalogue, fieldOf, kind, inner }: Scene, sheet: number, i: number): number[] =>
  (catalogue.posesOn[fieldOf[sheet]][kind[i]] ?? []).filter((p) => {
    const box = inner[sheet]?.[p];
    return box !== undefined && fitsBox(box);
  });

/** Places a piece at a random place of the sheet and moves it once to where it is least in the way. False: the field takes it in no turn. */
export const insert = (scene: Scene, i: number, sheet: number, reach: Reach): boolean => {
  const { dice } = scene;
  const poses = posesOn(scene, sheet, i);
  if (poses.length === 0) return false;
  const pose = poses[dice.below(poses.length)];
  const box = scene.inner[sheet]?.[pose] as { minX: number; minY: number; maxX: number; maxY: number };
  scene.put(
    i,
    sheet,
    pose,
    Math.round(box.minX + dice.unit() * (box.maxX - box.minX)),
    Math.round(box.minY + dice.unit() * (box.maxY - box.minY)),
  );
  scene.settle(i);
  scene.move(i, { anywhere: reach.anywhere * 4, nearby: reach.nearby });
  return true;
};

/** Attempts that say what is usual. */
const USUAL = 100;

/**
 * Puts further pieces on a sheet: they go in with overlaps, which are then removed. `moves` is what it took, also when it
 * failed. It learns from one attempt to the next which are not worth going on with.
 */
export const squeezer = (
  catalogue: Catalogue,
  seed: number,
  { reach, patience, hope, aborted }: Omit<Budget, "moves">,
): ((
  sheet: SheetPieces,
  added: readonly { readonly id: number; readonly kind: number }[],
) => { readonly sheet: SheetPieces | undefined; readonly moves: number }) => {
  let attempts = 0;
  let measured = 0;
  let usual = Infinity;
  return (sheet, added) => {
    const ids = [...sheet.ids, ...added.map((a) => a.id)];
    const kinds = [...sheet.kinds, ...added.map((a) => a.kind)];
    const scene = new Scene(catalogue, kinds, [sheet.field], seed * 31 + ++attempts);
    const n = sheet.ids.length;
    for (let i = 0; i < n; i++) scene.put(i, 0, sheet.pose[i], sheet.x[i], sheet.y[i]);
    for (let i = n; i < kinds.length; i++)
      if (!insert(scene, i, 0, reach)) return { sheet: undefined, moves: scene.moves };
    const loss = totalLoss(scene);
    const free = separate(scene, reach, { ...patience, most: (hope ?? Infinity) * usual }, aborted);
    measured++;
    usual = measured === 1 ? loss : usual + (loss - usual) / Math.min(measured, USUAL);
    if (!free) return { sheet: undefined, moves: scene.moves };
    return {
      sheet: { field: sheet.field, ids, kinds, pose: [...scene.pose], x: [...scene.x], y: [...scene.y] },
      moves: scene.moves,
    };
  };
};
