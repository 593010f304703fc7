import { setTimeout as wait } from "node:timers/promises";
import type { Context } from "./context.ts";
import { takeIn } from "./intake.ts";
import { planGangs, type Waiting } from "./plan-gangs.ts";
import type { Queues } from "./queues.ts";
import { script } from "./scripts.ts";
import { sweepCache } from "./store/cache-in-store.ts";
import { sweepFrozen } from "./store/frozen-in-store.ts";
import { sweepParts } from "./store/parts-in-store.ts";
import { fullRedis } from "./surroundings.ts";
import { sweepAttempts, sweepStore } from "./sweep.ts";
import { timeOf } from "./time-of.ts";
import { readRules, readWaiting } from "./waiting.ts";

/** Milliseconds between two rounds, between two restorings, between two clearings up. */
const ROUND = 150;
const RESTORE = 3_000;
const CLEAR = 60_000;
/** The clerk's office falls to another process when nothing is heard for so long, ms. */
const LEASE = 8_000;
const DAY = 24 * 3600_000;

export interface Clerk {
  stop(): Promise<void>;
}

/**
 * Checks received orders and decides what is ganged. One process of the queue does it at a time: its decisions are scripts
 * that ask whether the office is still its own.
 */
export const startClerk = (at: Context, queues: Queues): Clerk => {
  const stopped = new AbortController();
  const done = serve(at, queues, stopped.signal);
  return {
    async stop() {
      stopped.abort();
      await done;
    },
  };
};

const serve = async (at: Context, queues: Queues, signal: AbortSignal): Promise<void> => {
  const { redis, keys, holder, guard } = at;
  const hold = async () => (await script(redis, keys, "lease", holder, LEASE)) === 1;
  let office = false;
  const heart = setInterval(() => {
    if (office && redis.status === "ready") void hold().catch(() => undefined);
  }, LEASE / 4);
  let seen = "";
  let look = 0;
  let restored = -Infinity;
  let cleared = performance.now();
  while (!signal.aborted) {
    await wait(ROUND, undefined, { signal }).catch(() => undefined);
    if (signal.aborted) break;
    if (redis.status !== "ready" || guard.pauses) continue;
    try {
      office = await hold();
      if (!office) continue;
      if (!guard.has("shop")) await takeIn(at, signal);
      const [newest, number] = await Promise.all([
        redis.xrevrange(`${keys.prefix}-events`, "+", "-", "COUNT", 1),
        redis.get(`${keys.prefix}-number`),
      ]);
      const latest = `${newest[0]?.[0] ?? ""} ${number ?? ""}`;
      // How long ago something was is this machine's to say; when it was, only Redis's.
      const now = performance.now();
      if (latest !== seen || now >= look) {
        seen = latest;
        look = now + (await closeGangs(at, queues));
      }
      if (now - restored >= RESTORE) {
        restored = now;
        await queues.restore();
      }
      if (now - cleared >= CLEAR) {
        cleared = now;
        await clearUp(at);
      }
    } catch (error) {
      fullRedis(at, error);
      if (!signal.aborted) at.events.onTrouble?.(undefined, error as Error, true);
      await wait(1_000, undefined, { signal }).catch(() => undefined);
    }
  }
  clearInterval(heart);
  if (office && redis.status === "ready") await script(redis, keys, "resign", holder).catch(() => undefined);
};

/** Closes what is worth it. Returns in how many milliseconds to look again, if nothing happens before. */
const closeGangs = async (at: Context, queues: Queues): Promise<number> => {
  const { redis, keys, settings, holder } = at;
  const waiting = await readWaiting(redis, keys);
  if (waiting.length === 0) return Infinity;
  const rules = await readRules(
    redis,
    keys,
    waiting.map((w) => w.shop),
  );
  const now = await timeOf(redis);
  const settle = settings.settle ?? 5_000;
  const idle = (await redis.zcard(`${keys.prefix}-in:ganged`)) === 0;
  const { close, pools } = planGangs(waiting, (shop) => rules.get(shop), { now, settle, idle });
  for (const { orders, closed, why, lane, priority } of close) {
    const { effort, shop } = orders[0] as Waiting;
    const kits = [...new Set(orders.flatMap((o) => o.kits))].join("\n");
    const names = orders.map((o) => o.name);
    const id = await script(redis, keys, "close", holder, effort, shop, kits, closed, why, lane, priority, ...names);
    if (typeof id === "string") {
      at.events.onStep?.({ step: "gang", gang: id, orders: names, why });
      await queues.add(id, lane, priority);
    } else return 0; // one of them was changed or cancelled meanwhile
  }
  const checked = new Set(waiting.flatMap((w) => (w.checked ? [w.name] : [])));
  const wait = pools.flatMap((p) => p.orders.filter((name) => checked.has(name)));
  for (let i = 0; i < wait.length; i += 1_000) await script(redis, keys, "wait", holder, ...wait.slice(i, i + 1_000));
  const unsettled = waiting.some((w) => now - w.since < settle) || pools.some((p) => p.lacks === 0);
  return Math.min(unsettled ? Math.min(settle, 1_000) : Infinity, ...pools.map((p) => Math.max(p.until - now, 200)));
};

/** Forgets old orders, and takes away what nobody needs any more. */
export const clearUp = async ({ redis, keys, settings }: Context): Promise<void> => {
  const keep = settings.keep ?? 90;
  if (keep > 0) while (Number(await script(redis, keys, "expire", Math.round(keep * DAY), 200)) > 0);
  await sweepAttempts(redis, keys, settings.out);
  await sweepStore(redis, keys, settings.out);
  if (!settings.store) return;
  await sweepFrozen(settings.store, redis, keys);
  await sweepParts(settings.store);
  if (settings.cache) await sweepCache(settings.store, settings.cache.bytes);
};
