import { Worker } from "node:worker_threads";
import type { Entry } from "./entry.ts";

/** What a thread is given. */
export interface ThreadOptions {
  /** What the thread finds as `workerData`. */
  readonly data?: unknown;
  /** MiB of JavaScript heap it may have; left out, what Node gives a thread on this machine. */
  readonly memory?: number;
  /** The flags that Node was started with (`--import`, `--cpu-prof`) hold for it too. Default: none do, see `entryOf`. */
  readonly flags?: boolean;
}

/** Starts a thread. It ends with the process at the latest. */
export const startThread = (entry: Entry, { data, memory, flags = false }: ThreadOptions = {}): Worker =>
  new Worker(entry.file, {
    argv: [...entry.argv],
    // Left out, Node hands its own on, of which not all could be given here.
    ...(flags && entry.execArgv.length === 0 ? {} : { execArgv: [...entry.execArgv] }),
    workerData: data,
    ...(memory === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: memory } }),
  });
