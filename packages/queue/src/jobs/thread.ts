import { getHeapStatistics } from "node:v8";
import { parentPort, workerData } from "node:worker_threads";
import {
  FailedRun,
  failureOf,
  FolderCache,
  Openers,
  type PartWriter,
  partWriter,
  type SharedStage,
  type Taken,
} from "@kitforme/run";
import { cacheInStore } from "../store/cache-in-store.ts";
import { openStore } from "../store/object-store.ts";
import { doTask, type EndOf, type Task } from "./tasks.ts";
import type { Heard, Question, Reply, Said, ThreadSettings } from "./threads.ts";

/** Jobs of one thread: whatever a library keeps for itself goes with the thread. */
const MOST_JOBS = 50;
/** Part of the heap allowed that may be in use after a job: the next one gets the rest. */
const MOST_HEAP = 0.25;

const say = (said: Said): void => parentPort?.postMessage(said);

/** Parts of others' jobs that count as one job. */
const PARTS = 40;

let jobs = 0;
// Kept warm between jobs; its processes end with this thread.
const { cache: kept } = workerData as ThreadSettings;
const behind = kept?.store && cacheInStore(await openStore(kept.store));
const cache = kept && new FolderCache(kept.folder, kept.bytes, behind);
const openers = new Openers({}, cache);
let writer: Promise<PartWriter> | undefined;

const tired = (task: Task): boolean => {
  const { used_heap_size, heap_size_limit } = getHeapStatistics();
  jobs += task.kind === "part" ? 1 / PARTS : 1;
  return jobs >= MOST_JOBS || used_heap_size > MOST_HEAP * heap_size_limit;
};

const finish = async (task: Task, end: EndOf<Task>): Promise<void> => {
  const last = tired(task);
  // A thread that ends does not wait for its processes: they would stand in the system's list until this process ends.
  if (last) await openers.close();
  say({ end, tired: last, cache: { hits: cache?.hits ?? 0, misses: cache?.misses ?? 0 } });
  if (cache) [cache.hits, cache.misses] = [0, 0];
};

const waiting = new Map<number, (reply: Reply) => void>();
let asked = 0;
const ask = (question: Question): Promise<unknown> =>
  new Promise((resolve, reject) => {
    waiting.set(asked, (reply) => {
      if ("failure" in reply) reject(new FailedRun(reply.failure));
      else resolve(reply.value);
    });
    say({ asked: asked++, question });
  });

/** Others who may do parts, by way of the process that has this thread: it has the queue. */
const asking = {
  wanted: () => ask("wanted") as Promise<boolean>,
  offer: async (stage: SharedStage, offer: readonly number[]) => void (await ask({ stage, offer })),
  take: () => ask("take") as Promise<Taken>,
};

// A failure goes back as data: an error that crosses threads loses its code, and with it whether it was the environment's.
parentPort?.on("message", (heard: Heard) => {
  if ("reply" in heard) {
    const one = waiting.get(heard.reply);
    waiting.delete(heard.reply);
    return one?.(heard);
  }
  doTask(heard.task, {
    openers,
    onProgress: (progress) => say({ progress }),
    onTrouble: (trouble) => say({ trouble }),
    asking,
    writer: () => (writer ??= partWriter(openers)),
  })
    .then((end) => finish(heard.task, end))
    .catch(async (error: unknown) => {
      await openers.close();
      say({ failure: failureOf(error) });
    });
});
