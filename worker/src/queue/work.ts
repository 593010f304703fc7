import { setTimeout as wait } from "node:timers/promises";
import type { Finding } from "@kitforme/run";
import { type Job, UnrecoverableError, WaitingError, Worker } from "bullmq";
import type { Redis } from "ioredis";
import { failureOf } from "../jobs/failures.ts";
import { JobThreads } from "../jobs/threads.ts";
import { type Answer, type Batch, type Claim, type Keys, QUEUE } from "./names.ts";

export interface WorkSettings {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  /** Jobs at once in this process; each has a thread of its own. */
  readonly concurrency: number;
  /** MiB of heap that a job may have; one that needs more fails, with a sentence. Default: what Node gives a thread. */
  readonly memory?: number;
  /** Milliseconds that a running job gets after a stop before it is handed back. */
  readonly grace: number;
  /** Milliseconds after which a job whose worker has died may be taken by another. Default 30,000. */
  readonly lock?: number;
}

export interface WorkEvents {
  readonly onEnd?: (job: string, answers: ReadonlyMap<string, Answer>) => void;
  readonly onTrouble?: (job: string | undefined, error: Error, again: boolean) => void;
}

export interface Working {
  /** Ready to take jobs. */
  readonly ready: () => boolean;
  /** Threads started so far: no more than jobs at once, but for those that failed, were stopped or had grown. */
  readonly threads: () => number;
  /**
   * Takes no more jobs; finishes what runs within the grace, hands the rest back to the queue. False when Redis was away
   * and nothing could be handed back: other workers take those jobs when their locks have run out.
   */
  stop(): Promise<boolean>;
}

/** Milliseconds for handing jobs back. Redis takes some few; one that does not answer must not hold up the end for ever. */
const HANDING_BACK = 3_000;

/**
 * How many workers may die over a batch (killed by the system for its memory, say) before it is failed with a sentence.
 * A machine that is switched off under a job counts as one, so it is not one or two.
 */
const MOST_DEATHS = 3;

/** Takes batches from the queue and makes them, until stopped. */
export const startWork = (redis: Redis, keys: Keys, settings: WorkSettings, events: WorkEvents = {}): Working => {
  const handBack = new AbortController();
  const threads = new JobThreads(settings.memory);
  const lock = settings.lock ?? 30_000;
  let running = 0;
  const worker = new Worker(
    QUEUE,
    async (job, token, signal) => {
      running++;
      const stop = AbortSignal.any([handBack.signal, ...(signal ? [signal] : [])]);
      try {
        return await makeBatch(job, token, redis, keys, settings, threads, stop, events);
      } finally {
        running--;
      }
    },
    {
      connection: redis,
      prefix: keys.prefix,
      concurrency: settings.concurrency,
      // A killed process is noticed when its lock has run out and a look for such locks comes by (every half lock).
      lockDuration: lock,
      stalledInterval: lock / 2,
      // The queue itself never gives a batch up: it would do so without an answer to its orders. `makeBatch` does.
      maxStalledCount: Number.MAX_SAFE_INTEGER,
    },
  );
  worker.on("error", (error) => events.onTrouble?.(undefined, error, true));
  worker.on("failed", (job, error) =>
    events.onTrouble?.(job?.id, error, job !== undefined && job.finishedOn === undefined),
  );
  return {
    threads: () => threads.started,
    ready: () => redis.status === "ready" && worker.isRunning(),
    async stop() {
      const patience = new AbortController();
      const grace = wait(running === 0 ? 0 : settings.grace, undefined, { signal: patience.signal }).then(() =>
        handBack.abort(),
      );
      const lost = grace.then(() => wait(HANDING_BACK, false, { signal: patience.signal }));
      const closed = worker.close().then(() => true);
      lost.catch(() => undefined); // cut short below, when all went well
      const clean = await Promise.race([closed, lost]);
      patience.abort();
      handBack.abort(); // a thread that nobody waits for any more must not keep the process
      await threads.close();
      return clean;
    },
  };
};

const makeBatch = async (
  job: Job,
  token: string | undefined,
  redis: Redis,
  keys: Keys,
  settings: WorkSettings,
  threads: JobThreads,
  signal: AbortSignal,
  events: WorkEvents,
): Promise<unknown> => {
  const id = job.id as string;
  const held = await redis.hget(keys.batches, id);
  if (held === null) return { already: "ended" };
  const batch = JSON.parse(held) as Batch;
  const orders = await claimedBy(redis, keys, id, batch);
  if (orders.length === 0) return await end(redis, keys, id, new Map());
  const fail = async (reason: string): Promise<never> => {
    const answers = new Map<string, Answer>(orders.map((o) => [o.name, { end: "failed", batch: id, reason }]));
    await end(redis, keys, id, answers);
    events.onEnd?.(id, answers);
    throw new UnrecoverableError(reason);
  };
  if (job.stalledCounter >= MOST_DEATHS) return await fail(died(job.stalledCounter));
  try {
    const { made, refused } = await threads.run(
      { orders, effort: batch.effort, shop: settings.shop, kits: settings.kits, out: settings.out },
      {
        signal,
        onProgress: (progress) => void job.updateProgress({ ...progress }).catch(() => undefined),
      },
    );
    const answers = new Map<string, Answer>(
      refused.map(({ order, findings }) => [order, { end: "refused", batch: id, findings }]),
    );
    for (const order of made?.orders ?? [])
      answers.set(order, {
        end: "made",
        batch: id,
        job: made?.job as string,
        folder: made?.folder as string,
        findings: (made?.findings ?? []).filter((f) => f.where.order === undefined || f.where.order === order),
      });
    await end(redis, keys, id, answers);
    events.onEnd?.(id, answers);
    // Nothing made: the job has failed for its input. Its answer stands; trying again would only find the same.
    if (!made) throw new UnrecoverableError(inShort(refused.flatMap((r) => r.findings)));
    return { job: made.job, folder: made.folder, refused: refused.map((r) => r.order) };
  } catch (error) {
    if (error instanceof UnrecoverableError) throw error;
    if (signal.aborted) {
      // Stopped in the middle: back to the front of the queue, for another worker or the next start of this one.
      await job.moveToWait(token);
      throw new WaitingError();
    }
    const { kind, message } = failureOf(error);
    const tries = job.attemptsMade + 1;
    if (kind !== "weather") return await fail(message);
    if (tries < (job.opts.attempts ?? 1)) throw error;
    return await fail(
      `given up after ${tries} tries, the last of which said: ${message}; mend that and submit it again`,
    );
  }
};

/** The batch's orders that it holds the claim of; another batch's are not this one's to make. */
const claimedBy = async (redis: Redis, keys: Keys, id: string, batch: Batch): Promise<Batch["orders"]> => {
  if (batch.orders.length === 0) return [];
  const claims = await redis.hmget(keys.claims, ...batch.orders.map((o) => o.name));
  return batch.orders.filter((_, i) => (JSON.parse(claims[i] ?? "null") as Claim | null)?.batch === id);
};

/**
 * Writes the answers and lets go of the batch, in one transaction. Orders that were made keep their claim: the same order
 * again is not made again. Refused and failed orders lose it, so that they can come again, changed or after the kit is mended.
 */
const end = async (redis: Redis, keys: Keys, id: string, answers: ReadonlyMap<string, Answer>): Promise<void> => {
  const all = redis.multi().hdel(keys.batches, id);
  for (const [order, answer] of answers) {
    all.hset(keys.answers, order, JSON.stringify(answer));
    if (answer.end !== "made") all.hdel(keys.claims, order);
  }
  const results = await all.exec();
  const error = results?.find(([e]) => e)?.[0];
  if (error) throw error;
};

const died = (deaths: number): string =>
  `${deaths} workers died or were killed while they made it, most likely for want of memory: submit its orders in smaller batches, or give the workers more`;

const inShort = (findings: readonly Finding[]): string => {
  const errors = findings.filter((f) => f.level === "error");
  return `the input is at fault: ${errors.map((f) => f.rule).join(", ")}`.slice(0, 500);
};
