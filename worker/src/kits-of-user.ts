import { join } from "node:path";
import { type Finding, kitsAt, kitsIn, type KitStore, Unfit } from "@kitforme/run";
import { unreadable } from "./files.ts";

/** A file or folder of the kits that this user may not read: the input's fault, where a worker would wait for its share. */
export class Unreadable extends Error {
  readonly finding: Finding;
  constructor(finding: Finding) {
    super(finding.message);
    this.finding = finding;
  }
}

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
