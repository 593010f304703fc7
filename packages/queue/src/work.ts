import { randomUUID } from "node:crypto";
import { hostname } from "node:os";
import { setTimeout as wait } from "node:timers/promises";
import { DelayedError, type Job, WaitingError, Worker } from "bullmq";
import type { Redis } from "ioredis";
import { attemptGang } from "./attempt.ts";
import { clearUp, startClerk } from "./clerk.ts";
import type { Context, WorkEvents, WorkSettings } from "./context.ts";
import { Guard } from "./guard.ts";
import { startHelping } from "./help.ts";
import { type CacheLooks, HouseMemory } from "./house-memory.ts";
import { JobThreads, type ThreadSettings } from "./jobs/threads.ts";
import { type Keys, type Lane, LANES } from "./keys.ts";
import { openQueues } from "./queues.ts";
import { type Counts, countsOf } from "./status.ts";
import { timeOf } from "./time-of.ts";

/** A worker at work. */
export interface Working {
  /** Takes orders: Redis is there and nothing pauses the work. */
  readonly ready: () => boolean;
  /** Why it is not ready, in words. */
  readonly trouble: () => string | undefined;
  /** Orders of the whole queue by state; undefined while Redis is away. */
  readonly counts: () => Promise<Counts | undefined>;
  /** How often what was asked for was ready, in this process. */
  readonly looks: () => CacheLooks;
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
/** A killed worker's job is taken up when its lock has run out and somebody has looked: 9 s and a third of them more at most, twice. */
const LOCK = 9_000;

/** Takes orders from the queue and makes them, until stopped. The out folder must be there. */
export const startWork = (redis: Redis, keys: Keys, settings: WorkSettings, events: WorkEvents = {}): Working => {
  const handBack = new AbortController();
  const lanes: Worker[] = [];
  const guard: Guard = new Guard(redis, keys, (cause) => {
    events.onPause?.(cause);
    for (const lane of lanes)
      if (guard.pauses) void lane.pause(true);
      else void lane.resume();
  });
  const memory = new HouseMemory();
  const threads = new JobThreads(memory, settings.memory, settingsOfThreads(settings));
  const holder = `${hostname()}-${process.pid}-${randomUUID().slice(0, 8)}`;
  const at: Context = { redis, keys, settings, events, threads, guard, memory, holder };
  let running = 0;
  for (const lane of LANES)
    lanes.push(
      laneOf(at, lane, async (job, token, lost) => {
        running++;
        try {
          await doJob(at, { id: job.id as string, lane }, job, token, handBack.signal, lost);
        } finally {
          running--;
        }
      }),
    );
  const queues = openQueues(redis, keys);
  const clerk = startClerk(at, queues);
  const spare = (): number => settings.concurrency - running;
  const helping = startHelping(at, spare, handBack.signal);
  return {
    looks: () => memory.looks,
    threads: () => threads.started,
    ready: () => redis.status === "ready" && guard.trouble === undefined && lanes.every((lane) => lane.isRunning()),
    counts: async () => (redis.status === "ready" ? await countsOf(redis, keys) : undefined),
    trouble: () => (redis.status === "ready" ? guard.trouble : "Redis is away"),
    async stop() {
      const patience = new AbortController();
      const { signal } = patience;
      const grace = wait(running === 0 ? 0 : settings.grace, undefined, { signal }).then(() => handBack.abort());
      const late = grace.then(() => wait(HANDING_BACK, false, { signal }));
      late.catch(() => undefined); // cut short below, when all went well
      const closed = (async () => {
        await Promise.all([clerk.stop(), helping.stop(), ...lanes.map((lane) => lane.close())]);
        guard.stop();
        await clearUp(at).catch(() => undefined);
        await queues.close();
        return true;
      })();
      const clean = await Promise.race([closed, late]);
      patience.abort();
      guard.stop();
      handBack.abort(); // a thread that nobody waits for any more must not keep the process
      await threads.close();
      return clean;
    },
  };
};

const settingsOfThreads = ({ cache, store }: WorkSettings): ThreadSettings =>
  cache ? { cache: { ...cache, ...(store ? { store: store.address } : {}) } } : {};

const laneOf = (
  { redis, keys, settings, events }: Context,
  lane: Lane,
  take: (job: Job, token: string | undefined, lost: AbortSignal) => Promise<void>,
): Worker => {
  const lock = settings.lock ?? LOCK;
  const worker = new Worker(lane, (job, token, signal) => take(job, token, signal ?? new AbortController().signal), {
    connection: redis,
    prefix: keys.prefix,
    concurrency: lane === "orders" ? settings.concurrency : 1,
    lockDuration: lock,
    stalledInterval: Math.round(lock / 3),
    // The queue itself never gives a gang up: it would do so without an answer to its orders. `attemptGang` does.
    maxStalledCount: Number.MAX_SAFE_INTEGER,
  });
  worker.on("error", (error) => events.onTrouble?.(undefined, error, true));
  worker.on("lockRenewalFailed", (jobs) => {
    for (const id of jobs) worker.cancelJob(id, "its lock could not be renewed");
  });
  return worker;
};

const doJob = async (
  at: Context,
  gang: { readonly id: string; readonly lane: Lane },
  job: Job,
  token: string | undefined,
  stop: AbortSignal,
  lost: AbortSignal,
): Promise<void> => {
  const went = await attemptGang(at, gang, stop, lost);
  if (went === "ended" || went === "lost") return;
  // Not done: back to where it came from. A lock that was lost meanwhile cannot be given back, and need not be.
  if (went === "back") {
    await job.moveToWait(token).catch(() => undefined);
    throw new WaitingError();
  }
  const now = await timeOf(at.redis).catch(() => Date.now());
  await job.moveToDelayed(now + went.again, token).catch(() => undefined);
  throw new DelayedError();
};
