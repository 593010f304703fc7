import { readdir, readFile } from "node:fs/promises";
import { dirname } from "node:path";
import { besideFile, FailedRun, type KitStore, kitsAt, kitsIn, type Named } from "@kitforme/run";

/**
 * Shop and kits as a worker sees them: on a share that can go away and come back. One file that is missing beside others is
 * the input's fault; a folder that is gone, or empty as a mount point is without its share, is an environment fault.
 */
const mustBeThere = async (folder: string): Promise<void> => {
  const names = await readdir(folder);
  if (names.length > 0) return;
  throw new FailedRun({ kind: "environment", message: `folder ${folder} is empty: is its share mounted?` });
};

/** The kits of a share. Throws an environment fault when the share is away. */
export const kitsOnShare = (root: string): KitStore => {
  const kits = kitsIn(root);
  return {
    async folders() {
      await mustBeThere(root);
      return kits.folders();
    },
    async read(folder, path) {
      const bytes = await kits.read(folder, path);
      if (bytes === undefined) await mustBeThere(root);
      return bytes;
    },
  };
};

/** Frozen kits by their folders, and no others. Throws an environment fault when the store is away. */
export const kitsFrozen = (folders: readonly string[]): KitStore => {
  const kits = kitsAt(folders);
  return {
    folders: () => kits.folders(),
    async read(folder, path) {
      const bytes = await kits.read(folder, path);
      if (bytes === undefined) await mustBeThere(folder);
      return bytes;
    },
  };
};

/** The shop's file. Throws an environment fault when it is not there. */
export const shopOnShare = async (file: string): Promise<Named> => {
  try {
    return { file, text: await readFile(file, "utf8"), read: besideFile(file) };
  } catch (error) {
    await mustBeThere(dirname(file));
    throw error;
  }
};
