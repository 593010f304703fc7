import type { Redis } from "ioredis";
import type { Keys, State } from "./keys.ts";
import { script } from "./scripts.ts";

/** Takes an order back that is not ganged yet, or clears one that was refused or failed. Else: the state that forbids it; undefined when nobody knows it. */
export const cancelOrder = async (redis: Redis, keys: Keys, order: string): Promise<State | undefined> =>
  ((await script(redis, keys, "cancel", order)) as State | "") || undefined;

/** Puts a failed order back, as it was frozen; it is made by itself, at once. Else as `cancelOrder`. */
export const retryOrder = async (redis: Redis, keys: Keys, order: string): Promise<State | "again" | undefined> =>
  ((await script(redis, keys, "retry", order)) as State | "again" | "") || undefined;

/** Names of all failed orders. */
export const failedOrders = (redis: Redis, keys: Keys): Promise<string[]> =>
  redis.zrange(`${keys.prefix}-in:failed`, "0", "-1");
