import { randomUUID } from "node:crypto";
import { rename, rm, writeFile } from "node:fs/promises";

/**
 * A file that appears whole or not at all, in the place of whatever had its name. Not synced: whoever reads it can do without it.
 * Throws the system's error; then nothing is left of it.
 *
 * @example
 * await layWhole("cache/piece-1", Uint8Array.of(1, 2, 3));
 */
export const layWhole = async (file: string, bytes: Uint8Array): Promise<void> => {
  const part = `${file}.${randomUUID()}.part`;
  try {
    await writeFile(part, bytes, { flag: "wx" });
    await rename(part, file);
  } catch (error) {
    await rm(part, { force: true }).catch(() => undefined);
    throw error;
  }
};
