// Frozen shops, kits and orders' pictures in a store, so that workers without a common folder make the same of an order.
import { createHash, randomUUID } from "node:crypto";
import { readdir, readFile, rename, rm, stat } from "node:fs/promises";
import { dirname, join } from "node:path";
import { deserialize, serialize } from "node:v8";
import { FailedRun, makeFolder, sealed, unsealed } from "@kitforme/run";
import type { Redis } from "ioredis";
import type { HouseMemory } from "../house-memory.ts";
import type { Keys } from "../keys.ts";
import { kitOf, picturesOf, shopOf, storeIn } from "../places.ts";
import { LARGEST_KEPT, putFrozen } from "../put-frozen.ts";
import type { ObjectStore } from "./object-store.ts";

/** A frozen thing by its id. */
export type Frozen = readonly ["shop" | "kit" | "pictures", id: string];

/** All that orders are made of. */
export const frozenFor = (
  shop: string,
  kits: readonly string[],
  orders: readonly { readonly pictures?: string }[],
): Frozen[] => [
  ["shop", shop],
  ...[...new Set(kits)].map((kit): Frozen => ["kit", kit]),
  ...orders.flatMap(({ pictures }): Frozen[] => (pictures === undefined ? [] : [["pictures", pictures]])),
];

/** A folder as one object; a file that nobody reads is only as many bytes. */
type Folder = readonly (readonly [path: string, bytes: Uint8Array | number])[];

/** Objects that no open order needs are kept so long, in ms: one may be on its way here, and the clocks of store and worker are two. */
const AGE = 24 * 3600_000;
const FROZEN = "frozen/";

const placeOf = (out: string, [kind, id]: Frozen): string =>
  kind === "shop" ? shopOf(out, id) : kind === "kit" ? kitOf(out, id) : picturesOf(out, id);

/** Ids hold names of folders; keys are plain. */
const keyOf = (id: string): string => FROZEN + createHash("sha256").update(id).digest("hex");

/** Puts frozen copies that lie in the out folder into the store, where they are not there already. */
export const sendFrozen = async (
  store: ObjectStore,
  out: string,
  all: readonly Frozen[],
  { sent }: HouseMemory,
): Promise<void> => {
  const known = sent.get(store) ?? new Set();
  sent.set(store, known);
  for (const one of all) {
    const key = keyOf(one[1]);
    if (known.has(key)) continue;
    const files: [string, Uint8Array | number][] = [];
    const walk = async (folder: string, under: string): Promise<void> => {
      const entries = await readdir(folder, { withFileTypes: true });
      for (const entry of entries.sort((a, b) => (a.name < b.name ? -1 : 1))) {
        const file = join(folder, entry.name);
        if (entry.isDirectory()) await walk(file, `${under}${entry.name}/`);
        else {
          const { size } = await stat(file);
          files.push([`${under}${entry.name}`, size > LARGEST_KEPT ? size : await readFile(file)]);
        }
      }
    };
    await walk(placeOf(out, one), "");
    // Always anew: the age of an object is what keeps it from the sweep until the order is known.
    await store.put(key, sealed(serialize(files satisfies Folder)));
    if (known.size > 2_000) known.clear();
    known.add(key);
    setTimeout(() => known.delete(key), AGE / 2).unref();
  }
};

/** Lays frozen copies into the out folder, where they are not there already. Throws an environment fault when one is nowhere. */
export const fetchFrozen = async (store: ObjectStore, out: string, all: readonly Frozen[]): Promise<void> => {
  for (const one of all) {
    const place = placeOf(out, one);
    if (await stat(place).catch(() => undefined)) continue;
    const bytes = await store.get(keyOf(one[1]));
    const content = bytes && unsealed(bytes);
    if (!content) {
      const what = bytes ? "is damaged" : "is not there";
      throw new FailedRun({ kind: "environment", message: `the frozen ${one[0]} ${one[1]} ${what} in the store` });
    }
    const part = join(storeIn(out), `.${randomUUID()}.part`);
    try {
      for (const [path, file] of deserialize(content) as Folder) await putFrozen(part, path, file);
      await makeFolder(dirname(place));
      await rename(part, place).catch((error: NodeJS.ErrnoException) => {
        if (error.code !== "ENOTEMPTY" && error.code !== "EEXIST") throw error;
      });
    } finally {
      await rm(part, { recursive: true, force: true }).catch(() => undefined);
    }
  }
};

/** Removes frozen copies from the store that no open order needs. */
export const sweepFrozen = async (store: ObjectStore, redis: Redis, keys: Keys): Promise<void> => {
  const listed = await store.list(FROZEN);
  const needed = new Set((await redis.hkeys(`${keys.prefix}-frozen`)).map(keyOf));
  for (const { key, at } of listed) if (!needed.has(key) && Date.now() - at > AGE) await store.remove(key);
};
