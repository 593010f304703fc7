import { Redis } from "ioredis";

/** For those who put orders on the queue or ask about them: a Redis that is away is said at once, never waited for. */
const producerRedis = (url: string): Redis =>
  new Redis(url, {
    lazyConnect: true,
    enableOfflineQueue: false,
    maxRetriesPerRequest: 1,
    connectTimeout: 5_000,
    retryStrategy: () => null,
  });

/** For workers: Redis being away is an environment fault; keep trying, half a second to ten apart. `null` is compulsory for BullMQ's blocking reads. */
export const workerRedis = (url: string): Redis =>
  new Redis(url, { maxRetriesPerRequest: null, retryStrategy: (times) => Math.min(500 * times, 10_000) });

/**
 * For servers that answer questions: they live longer than a failure of Redis and try again, two seconds apart at most, but
 * whoever asks meanwhile hears at once that it is away.
 */
export const askingRedis = (url: string): Redis =>
  new Redis(url, {
    enableOfflineQueue: false,
    maxRetriesPerRequest: 0,
    connectTimeout: 5_000,
    commandTimeout: 10_000,
    retryStrategy: (times) => Math.min(100 * times, 2_000),
  });

/** Host, port and database of a URL, for messages: a password in it is nobody's business. */
export const withoutPassword = (url: string): string => {
  try {
    const { protocol, host, pathname } = new URL(url);
    return `${protocol}//${host}${pathname}`;
  } catch {
    return "the Redis address given";
  }
};

/** Several addresses of one host that all failed come as one error without words of its own. */
export const wordsOf = (error: unknown): string => {
  if (error instanceof AggregateError) return error.errors.map(wordsOf).join("; ");
  return error instanceof Error ? error.message || error.name : String(error);
};

/** Redis is not there: the answer of `submit` and `status`, which never wait for it. */
export class RedisAway extends Error {
  constructor(url: string, cause: unknown) {
    super(
      `Redis at ${withoutPassword(url)} cannot be reached (${wordsOf(cause)}); start it, or name another with --redis or REDIS_URL`,
      { cause },
    );
    // The command knows it by its name: it does not load this package unless it must.
    this.name = "RedisAway";
  }
}

/** Runs `use` on a producer's connection and lets go of it. Throws `RedisAway` when there is none. */
export const withRedis = async <T>(url: string, use: (redis: Redis) => Promise<T>): Promise<T> => {
  const redis = producerRedis(url);
  // The failing call says no more than "Connection is closed"; that the password is wrong or the name unknown comes this way.
  let first: Error | undefined;
  redis.on("error", (error: Error) => {
    first ??= error;
  });
  try {
    await redis.connect();
  } catch (error) {
    redis.disconnect();
    throw new RedisAway(url, first ?? error);
  }
  try {
    return await use(redis);
  } finally {
    redis.disconnect();
  }
};
