import { open } from "node:fs/promises";
import { dirname, join } from "node:path";
import { makeFolder } from "@kitforme/run";

/**
 * Larger files of a kit are read by nobody: in a frozen copy their place is kept, at their size and without their bytes.
 */
export const LARGEST_KEPT = 512 * 2 ** 20;

/**
 * Writes one file of a frozen copy, flushed to the disk. Throws when it is there already.
 * @param path relative, parted by `/`
 * @param bytes or, of a file larger than `LARGEST_KEPT`, how many there would be
 */
export const putFrozen = async (folder: string, path: string, bytes: Uint8Array | number): Promise<void> => {
  const target = join(folder, ...path.split("/"));
  await makeFolder(dirname(target));
  const file = await open(target, "wx");
  try {
    if (typeof bytes === "number") await file.truncate(bytes);
    else await file.writeFile(bytes);
    await file.sync();
  } catch (error) {
    throw new Error(target, { cause: error });
  } finally {
    await file.close();
  }
};
