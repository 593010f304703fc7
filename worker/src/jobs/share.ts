import { readdir } from "node:fs/promises";
import { dirname } from "node:path";
import { type KitStore, kitsIn, type Named } from "@kitforme/run";
import type { Finding } from "@kitforme/kit";
import { readNamed } from "../files.ts";
import { FailedRun } from "./failures.ts";

/**
 * Shop and kits as a worker sees them: on a share that can go away and come back. One file that is missing beside others is
 * the input's fault; a folder that is gone, or empty as a mount point is without its share, is the weather.
 */
const mustBeThere = async (folder: string): Promise<void> => {
  const names = await readdir(folder);
  if (names.length > 0) return;
  throw new FailedRun({
    kind: "weather",
    message: `folder ${folder} is empty: is its share mounted?`,
  });
};

/** The kits of a share. Throws weather when the share is away. */
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

/** The shop's file, or the finding that it is not there. Throws weather when its whole folder is away. */
export const shopOnShare = async (file: string): Promise<Named | { readonly finding: Finding }> => {
  const shop = await readNamed(file, "The shop's file");
  if ("text" in shop) return { file, text: shop.text };
  await mustBeThere(dirname(file));
  return shop;
};
