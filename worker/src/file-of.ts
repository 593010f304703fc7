import { readFile } from "node:fs/promises";
import { join } from "node:path";

/** A file of a folder by its name; undefined when folder or file is not there. All else is the disk's fault and is thrown. */
export const fileOf = (folder: string, name: string): Promise<Uint8Array | undefined> =>
  readFile(join(folder, name)).catch((error: unknown) => {
    if (error instanceof Error && "code" in error && (error.code === "ENOENT" || error.code === "ENOTDIR"))
      return undefined;
    throw error;
  });
