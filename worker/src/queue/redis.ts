import { Redis } from "ioredis";

export const DEFAULT_URL = "redis://127.0.0.1:6379";

/** For those who put orders on the queue or ask about them: a Redis that is away is said at once, never waited for. */
export const producerRedis = (url: string): Redis =>
  new Redis(url, {
    lazyConnect: true,
    enableOfflineQueue: false,
    maxRetriesPerRequest: 1,
    connectTimeout: 5_000,
    retryStrategy: () => null,
  });

/** For workers: Redis being away is weather; keep trying, half a second to ten apart. `null` is compulsory for BullMQ's blocking reads. */
export const workerRedis = (url: string): Redis =>
  new Redis(url, { maxRetriesPerRequest: null, retryStrategy: (times) => Math.min(500 * times, 10_000) });

/** Host, port and database of a URL, for messages: a password in it is nobody's business. */
export const withoutPassword = (url: string): string => {
  try {
    const { protocol, host, pathname } = new URL(url);
    return `${protocol}//${host}${pathname}`;
  } catch {
    return "the Redis address given";
  }
};

/** Redis is not there: the answer of `submit` and `status`, which never wait for it. */
export class RedisAway extends Error {
  constructor(url: string, cause: unknown) {
    super(
      `Redis at ${withoutPassword(url)} cannot be reached (${cause instanceof Error ? cause.message : String(cause)}); start it, or name another with --redis or REDIS_URL`,
      { cause },
    );
  }
}

/** Runs `use` on a producer's connection and lets go of it. Throws `RedisAway` when there is none. */
export const withRedis = async <T>(url: string, use: (redis: Redis) => Promise<T>): Promise<T> => {
  const redis = producerRedis(url);
  redis.on("error", () => undefined); // the failing call itself says it
  try {
    await redis.connect();
  } catch (error) {
    redis.disconnect();
    throw new RedisAway(url, error);
  }
  try {
    return await use(redis);
  } finally {
    redis.disconnect();
  }
};
