import { Queue } from "bullmq";
import type { Redis } from "ioredis";
import { type Keys, type Lane, LANES } from "./keys.ts";
import { timeOf } from "./time-of.ts";

/** BullMQ's queues of gangs, one a lane. */
export interface Queues {
  add(gang: string, lane: Lane, priority: number): Promise<void>;
  /** Queues every gang on its way that BullMQ does not know: whoever closed it died before it could, or Redis lost it. */
  restore(): Promise<void>;
  close(): Promise<void>;
}

/** Gangs younger than this, in ms, may be on their way into BullMQ. */
const YOUNG = 3_000;

export const openQueues = (redis: Redis, keys: Keys): Queues => {
  const queues = new Map<Lane, Queue>(
    LANES.map((lane) => [lane, new Queue(lane, { connection: redis, prefix: keys.prefix })]),
  );
  for (const queue of queues.values()) queue.on("error", () => undefined);
  const add = async (gang: string, lane: Lane, priority: number): Promise<void> => {
    // Every job has a priority: BullMQ would run those without one first. None is kept, so that a gang can always be added anew.
    await queues.get(lane)?.add("gang", {}, { jobId: gang, priority, removeOnComplete: true, removeOnFail: true });
  };
  return {
    add,
    async restore() {
      const ids = await redis.zrangebyscore(`${keys.prefix}-gangs`, "-inf", (await timeOf(redis)) - YOUNG);
      for (const id of ids) {
        const [lane, priority] = await redis.hmget(`${keys.prefix}-gang:${id}`, "lane", "priority");
        if (!lane || (await redis.exists(`${keys.prefix}:${lane}:${id}`)) === 1) continue;
        await add(id, lane as Lane, Number(priority));
      }
    },
    async close() {
      await Promise.all([...queues.values()].map((queue) => queue.close()));
    },
  };
};
