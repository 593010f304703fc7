import type { Redis } from "ioredis";
import type { Keys } from "./keys.ts";
import { planGangs, type Pool } from "./plan-gangs.ts";
import { timeOf } from "./time-of.ts";
import { readRules, readWaiting } from "./waiting.ts";

/** A plan is good for so long, in ms, though orders come and go: who asks for each of ten thousand orders plans them once. */
const KEPT = 500;
/** And for so long, in ms, though it lacks an order that is asked for: that one has only just begun to wait, or waits no more. */
const YOUNG = 100;
/** A plan that took long is kept so many times as long as it took: asking takes no more of the processor with ten thousand orders. */
const WORTH = 20;
/** But never longer, in ms. */
const LONGEST = 5_000;

interface Planned {
  readonly at: number;
  /** Milliseconds that it took, once it is made. */
  took: number;
  readonly pools: Promise<ReadonlyMap<string, Pool>>;
}

/** What waiting orders wait for, by the plan of a moment ago: made by whoever answers many questions, and passed to `statusOf`. */
export class Plans {
  readonly #planned = new Map<string, Planned>();

  /** What the orders named wait for, by their names. */
  async waitsOf(redis: Redis, keys: Keys, names: readonly string[]): Promise<ReadonlyMap<string, Pool>> {
    const known = this.#planned.get(keys.prefix);
    const now = performance.now();
    const young = known && Math.max(YOUNG, Math.min(LONGEST, WORTH * known.took));
    if (known && young !== undefined && now - known.at < Math.max(KEPT, young)) {
      const pools = await known.pools;
      if (now - known.at < young || names.every((name) => pools.has(name))) return pools;
    }
    const pools = poolsOf(redis, keys);
    const planned: Planned = { at: now, took: 0, pools };
    this.#planned.set(keys.prefix, planned);
    pools.then(
      () => void (planned.took = performance.now() - now),
      () => void this.#planned.delete(keys.prefix),
    );
    return pools;
  }
}

/** The same plan that the queue decides by: what every waiting order waits for. */
const poolsOf = async (redis: Redis, keys: Keys): Promise<ReadonlyMap<string, Pool>> => {
  const waiting = await readWaiting(redis, keys);
  const rules = await readRules(
    redis,
    keys,
    waiting.map((w) => w.shop),
  );
  const { pools } = planGangs(waiting, (shop) => rules.get(shop), {
    now: await timeOf(redis),
    settle: Infinity,
    idle: false,
  });
  return new Map(pools.flatMap((pool) => pool.orders.map((order): [string, Pool] => [order, pool])));
};
