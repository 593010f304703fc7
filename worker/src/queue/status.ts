import { Queue } from "bullmq";
import type { Redis } from "ioredis";
import { type Answer, type Claim, type Keys, QUEUE } from "./names.ts";

export interface OrderStatus {
  readonly order: string;
  readonly batch: string;
  /** BullMQ's word while the order is on its way; then how it ended. */
  readonly state: "waiting" | "active" | "delayed" | "made" | "refused" | "failed" | "lost";
  readonly progress?: unknown;
  /** Why the last attempt failed and another is waited for. */
  readonly trouble?: string;
  readonly answer?: Answer;
}

/** Where orders are: all of them, or the one named (an empty list when nobody knows it). Sorted by name. */
export const statusOf = async (redis: Redis, keys: Keys, order?: string): Promise<OrderStatus[]> => {
  const claims = await entries<Claim>(redis, keys.claims, order);
  const answers = await entries<Answer>(redis, keys.answers, order);
  const queue = new Queue(QUEUE, { connection: redis, prefix: keys.prefix });
  queue.on("error", () => undefined);
  try {
    const names = [...new Set([...claims.keys(), ...answers.keys()])].sort();
    const found: OrderStatus[] = [];
    for (const name of names) {
      const claim = claims.get(name);
      const answer = answers.get(name);
      if (answer) found.push({ order: name, batch: answer.batch, state: answer.end, answer });
      else if (claim) {
        // The state before the job: what a job carries (progress, trouble) then is as new as the state or newer, never older.
        const state = await queue.getJobState(claim.batch);
        const job = await queue.getJob(claim.batch);
        if (!job || state === "unknown" || state === "failed" || state === "completed") {
          // Over, but there was no answer when we looked: it has come since, or the job was lost on the way.
          const late = (await entries<Answer>(redis, keys.answers, name)).get(name);
          found.push(
            late
              ? { order: name, batch: late.batch, state: late.end, answer: late }
              : { order: name, batch: claim.batch, state: "lost" },
          );
        } else
          found.push({
            order: name,
            batch: claim.batch,
            state: state === "active" || state === "delayed" ? state : "waiting",
            progress: job.progress,
            ...(state === "delayed" && job.failedReason ? { trouble: job.failedReason } : {}),
          });
      }
    }
    return found;
  } finally {
    await queue.close();
  }
};

const entries = async <T>(redis: Redis, key: string, field?: string): Promise<Map<string, T>> => {
  if (field === undefined)
    return new Map(Object.entries(await redis.hgetall(key)).map(([k, v]) => [k, JSON.parse(v) as T]));
  const value = await redis.hget(key, field);
  return new Map(value === null ? [] : [[field, JSON.parse(value) as T]]);
};
