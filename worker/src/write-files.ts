import { mkdir, rename, writeFile } from "node:fs/promises";
import { dirname, resolve } from "node:path";
import type { Stop } from "./stop.ts";

/** Writes files one after the other, each of them whole or not at all; a stop in between says which are there. */
export const writeFiles = async (
  files: readonly { readonly path: string; readonly bytes: Uint8Array }[],
  stop: Stop,
): Promise<void> => {
  const written: string[] = [];
  for (const { path, bytes } of files) {
    const part = `${path}.part`;
    const left =
      written.length === 0 ? "nothing was written." : `only these files were written: ${written.join(", ")}.`;
    stop.leaves(left, part);
    await mkdir(dirname(resolve(path)), { recursive: true });
    await writeFile(part, bytes);
    await rename(part, path);
    written.push(path);
  }
};
