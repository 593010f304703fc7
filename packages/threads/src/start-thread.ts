import { Worker } from "node:worker_threads";
import type { Entry } from "./entry.ts";

/** What a thread is given. */
export interface ThreadOptions {
  /** What the thread finds as `workerData`. */
  readonly data?: unknown;
  /** MiB of JavaScript heap it may have; left out, what Node gives a thread on this machine. */
  readonly memory?: number;
}

/** Starts a thread. It ends with the process at the latest. */
export const startThread = (entry: Entry, { data, memory }: ThreadOptions = {}): Worker =>
  new Worker(entry.file, {
    argv: [...entry.argv],
    execArgv: [...entry.execArgv],
    workerData: data,
    ...(memory === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: memory } }),
  });
