import { Worker } from "node:worker_threads";
import type { Progress } from "@kitforme/run";
import { FailedRun, type Failure } from "./failures.ts";
import type { PrintRun, PrintRunEnd } from "./print-run.ts";

/** What a thread says: how far it is, and at its end, once, how it went. */
export type Said = { readonly progress: Progress } | { readonly end: PrintRunEnd } | { readonly failure: Failure };

// From the sources (tests) the thread is TypeScript and needs a door of its own; from dist it is plain JavaScript.
const fromSource = import.meta.url.endsWith(".ts");
const door = new URL(fromSource ? "./thread.mjs" : "./thread.js", import.meta.url);

export interface Watched {
  /** MiB of heap that the thread may have; left out, what Node gives one on this machine. */
  readonly memory?: number | undefined;
  /** An abort kills the thread; the promise then rejects with the signal's reason. */
  readonly signal: AbortSignal;
  readonly onProgress: (progress: Progress) => void;
}

/**
 * One job in a thread of its own, so that the process stays free to renew its lock on the job and to answer signals. The
 * thread is new for every job: starting one takes a third of a second, and a heap that ran out ends with its thread. (A
 * pool was tried: a thread that ran out while it was being started took the process with it, or left its job unanswered.)
 * Rejects with what `failureOf` understands.
 */
export const runInThread = (work: PrintRun, { memory, signal, onProgress }: Watched): Promise<PrintRunEnd> => {
  if (signal.aborted) return Promise.reject(signal.reason as Error);
  const thread = new Worker(door, {
    workerData: work,
    ...(memory === undefined ? {} : { resourceLimits: { maxOldGenerationSizeMb: memory } }),
    // Not the process's own flags: with --input-type among them no file may be the entry of a thread.
    execArgv: fromSource ? ["--conditions=source"] : [],
  });
  const kill = () => void thread.terminate();
  signal.addEventListener("abort", kill, { once: true });
  return new Promise((resolve, reject) => {
    let last: Exclude<Said, { progress: Progress }> | undefined;
    let broken: unknown;
    thread.on("message", (said: Said) => {
      if ("progress" in said) return onProgress(said.progress);
      last = said;
      // Something native may still hold the thread open; nothing of the job is left to do in it.
      kill();
    });
    thread.once("error", (error) => {
      broken = error;
    });
    thread.once("exit", (code) => {
      signal.removeEventListener("abort", kill);
      if (last === undefined)
        reject(
          signal.aborted
            ? signal.reason
            : (broken ?? new Error(`the job's thread ended with ${code}, without an answer`)),
        );
      else if ("failure" in last) reject(new FailedRun(last.failure));
      else resolve(last.end);
    });
  });
};
