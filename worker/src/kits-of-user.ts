import { join } from "node:path";
import { kitsAt, kitsIn, type KitStore, Unfit } from "@kitforme/run";
import { unreadable } from "./files.ts";
import { Unreadable } from "./unreadable.ts";

const worded = (store: KitStore, pathOf: (folder: string, path: string) => string): KitStore => ({
  folders: () => store.folders(),
  read: (folder, path) =>
    store.read(folder, path).catch((error: unknown) => {
      if (error instanceof Unfit) throw error;
      throw new Unreadable(unreadable(pathOf(folder, path), "A file of the kit", error));
    }),
});

export const kitsInFolder = (root: string): KitStore =>
  worded(kitsIn(root), (folder, path) => join(root, folder, path));
export const kitsAtPaths = (paths: readonly string[]): KitStore => worded(kitsAt(paths), join);
