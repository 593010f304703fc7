import type { Openers } from "@kitforme/run/openers";

/** Bytes that prepared pieces may take in a command's cache: a worker's own default. */
const CACHE = 1024 * 2 ** 20;

/**
 * Does a command with openers whose first process starts at once: it loads its libraries while the command loads its own, which
 * half a second of every job, check and estimate went to. They end with the command, whether it came to use them or not.
 *
 * @param cache folder where prepared pieces are kept; left out, nowhere
 */
export const openersAhead = async <T>(command: (ahead: Openers) => Promise<T>, cache?: string): Promise<T> => {
  const { FolderCache, Openers } = await import("@kitforme/run/openers");
  const ahead = new Openers({}, cache === undefined ? undefined : new FolderCache(cache, CACHE));
  ahead.warm(1);
  try {
    return await command(ahead);
  } finally {
    await ahead.close();
  }
};
