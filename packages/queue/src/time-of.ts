import type { Redis } from "ioredis";

/**
 * Milliseconds since 1970 by Redis's clock, the one that all of a queue's machines share: orders bear its times, and the clock of a
 * machine that was suspended, or that nobody set, may be hours off. Rejects while Redis is away.
 */
export const timeOf = async (redis: Redis): Promise<number> => {
  const [seconds, micros] = await redis.time();
  return Number(seconds) * 1_000 + Math.floor(Number(micros) / 1_000);
};
