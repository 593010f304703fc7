import type { ObjectStore } from "./object-store.ts";

const CACHE = "cache/";

/** Prepared pieces in a store, for workers without a common folder. Whoever cannot reach it makes them anew. */
export const cacheInStore = (store: ObjectStore) => ({
  get: (key: string): Promise<Uint8Array | undefined> => store.get(CACHE + key),
  put: (key: string, entry: Uint8Array): Promise<void> => store.put(CACHE + key, entry),
});

/** Removes the oldest until no more than so many bytes are left. */
export const sweepCache = async (store: ObjectStore, most: number): Promise<void> => {
  const listed = [...(await store.list(CACHE))].sort((a, b) => a.at - b.at);
  let size = listed.reduce((sum, { bytes }) => sum + bytes, 0);
  for (const { key, bytes } of listed) {
    if (size <= most) return;
    await store.remove(key);
    size -= bytes;
  }
};
