import { readdir, realpath, stat } from "node:fs/promises";
import { join, resolve } from "node:path";
import { type Finding, kitsIn, type KitStore } from "@kitforme/run";
import { unreadable } from "./files.ts";
import { kitsAtPaths } from "./kits-of-user.ts";

/** Why a folder of kits cannot be used, as a finding; undefined when it can. */
export const faultOfKits = (folder: string): Promise<Finding | undefined> =>
  readdir(folder).then(
    () => undefined,
    (error: unknown) => unreadable(folder, "The folder of kits", error),
  );

const isFile = (path: string): Promise<boolean> =>
  stat(path).then(
    (s) => s.isFile(),
    () => false,
  );

/** A folder that is no kit but holds kits stands for all of them. */
const kitsOf = async (path: string): Promise<string[]> => {
  if (await isFile(join(path, "kit.json"))) return [path];
  const inside = await kitsIn(path)
    .folders()
    .catch(() => []);
  return inside.length > 0 ? inside.map((name) => join(path, name)) : [path];
};

/**
 * The store that orders are held against (the folder of kits, else the kit folders named beside them), and the named ones by
 * the paths they have in it: a kit that is named as a folder and lies in the folder of kits as well is one kit.
 */
export const shelfFor = async (
  named: readonly string[],
  kits: string | undefined,
): Promise<{ readonly store: KitStore; readonly folders: readonly string[] }> => {
  const wanted = (await Promise.all(named.map((path) => kitsOf(resolve(path))))).flat();
  const shelf = kits === undefined ? wanted : (await kitsIn(kits).folders()).map((name) => join(resolve(kits), name));
  const real = (path: string): Promise<string> => realpath(path).catch(() => path);
  const known = new Map<string, string>();
  for (const path of [...shelf, ...wanted]) {
    const place = await real(path);
    if (!known.has(place)) known.set(place, path);
  }
  const spelt = async (paths: readonly string[]) => [
    ...new Set(await Promise.all(paths.map(async (path) => known.get(await real(path)) as string))),
  ];
  return { store: kitsAtPaths(await spelt(shelf)), folders: await spelt(wanted) };
};
