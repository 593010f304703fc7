import { readdir, rm, rmdir, stat } from "node:fs/promises";
import { join } from "node:path";
import type { Redis } from "ioredis";
import type { Keys } from "./keys.ts";
import { attemptsIn, helpedIn, partsIn, storeIn } from "./places.ts";

/** Frozen copies that no open order needs are kept so long, in ms: one may have been made for an order that is on its way here, by a machine whose clock is not ours. */
const STORE_AGE = 24 * 3600_000;

const names = (folder: string): Promise<string[]> => readdir(folder).catch(() => []);

/** Removes attempts that can never be published, and what they handed over: their gang has ended, or its claim is another's. */
export const sweepAttempts = async (redis: Redis, keys: Keys, out: string): Promise<void> => {
  await sweepIn(attemptsIn(out), redis, keys);
  await sweepIn(partsIn(out), redis, keys);
  for (const holder of await names(helpedIn(out))) {
    await sweepIn(join(helpedIn(out), holder), redis, keys);
    await rmdir(join(helpedIn(out), holder)).catch(() => undefined); // not while something lies in it
  }
};

const sweepIn = async (folder: string, redis: Redis, keys: Keys): Promise<void> => {
  for (const name of await names(folder)) {
    const dot = name.indexOf(".");
    const [token, intent] = await redis.hmget(`${keys.prefix}-gang:${name.slice(0, dot)}`, "token", "intent");
    const mine = name.slice(dot + 1);
    if (token === mine || (intent && (JSON.parse(intent) as { token: string }).token === mine)) continue;
    await rm(join(folder, name), { recursive: true, force: true }).catch(() => undefined);
  }
};

/** Removes frozen shops and kits that no open order needs. */
export const sweepStore = async (redis: Redis, keys: Keys, out: string, age = STORE_AGE): Promise<void> => {
  const store = storeIn(out);
  const old = async (path: string): Promise<boolean> =>
    stat(path).then(
      (s) => Date.now() - s.mtimeMs > age,
      () => false,
    );
  const remove = (path: string) => rm(path, { recursive: true, force: true }).catch(() => undefined);
  for (const name of await names(store))
    if (name.endsWith(".part") && (await old(join(store, name)))) await remove(join(store, name));
  const needed = new Set(await redis.hkeys(`${keys.prefix}-frozen`));
  for (const id of await names(join(store, "shops")))
    if (!needed.has(id) && (await old(join(store, "shops", id)))) await remove(join(store, "shops", id));
  for (const id of await names(join(store, "orders")))
    if (!needed.has(id) && (await old(join(store, "orders", id)))) await remove(join(store, "orders", id));
  for (const hash of await names(join(store, "kits")))
    for (const folder of await names(join(store, "kits", hash)))
      if (!needed.has(`${hash}/${folder}`) && (await old(join(store, "kits", hash, folder))))
        await remove(join(store, "kits", hash));
};
