import type { Worker } from "node:worker_threads";
import {
  FailedRun,
  type Failure,
  failureOf,
  type Progress,
  type SharedStage,
  type Sharing,
  type Taken,
} from "@kitforme/run";
import { entryOf, startThread } from "@kitforme/threads";
import type { HouseMemory } from "../house-memory.ts";
import type { StoreAddress } from "../store/object-store.ts";
import type { EndOf, Task } from "./tasks.ts";

/** What a thread says: how far it is, and at the end of each job, once, how it went; `tired`: it should get no further job. */
export type Said =
  | { readonly progress: Progress }
  | { readonly trouble: string | undefined }
  | { readonly asked: number; readonly question: Question }
  | { readonly end: EndOf<Task>; readonly tired: boolean; readonly cache: CacheUse }
  | { readonly failure: Failure };

/** What every thread is started with. */
export interface ThreadSettings {
  /** Where prepared pieces are kept, and bytes that they may take. */
  readonly cache?: { readonly folder: string; readonly bytes: number; readonly store?: StoreAddress };
}

export interface CacheUse {
  readonly hits: number;
  readonly misses: number;
}

/** What a thread wants to know of those who may do parts of its job. */
export type Question = "wanted" | "take" | { readonly stage: SharedStage; readonly offer: readonly number[] };

/** What a thread hears: a job, or the answer to one of its questions. */
export type Heard = { readonly task: Task } | Reply;
export type Reply =
  | { readonly reply: number; readonly value: boolean | Taken | undefined }
  | { readonly reply: number; readonly failure: Failure };

export interface Watched {
  /** An abort kills the thread; the promise then rejects with the signal's reason. */
  readonly signal: AbortSignal;
  readonly onProgress: (progress: Progress) => void;
  /** The job waits for its disk: why, and undefined when it goes on. */
  readonly onTrouble?: (cause: string | undefined) => void;
  /** Others who may do parts of the job; left out, nobody does. */
  readonly sharing?: Omit<Sharing, "folder" | "turn">;
}

/**
 * Jobs in threads of their own, so that the process stays free to renew its locks on the jobs and to answer signals. A
 * thread that has done a job waits for the next one: that one starts a third of a second sooner and finds the bleed maps
 * of the contours that the others had. A thread that failed, was stopped, ran out of memory or has grown gets no other.
 */
export class JobThreads {
  /** Threads started so far. */
  started = 0;
  readonly #memory: number | undefined;
  readonly #settings: ThreadSettings;
  readonly #looks: Pick<HouseMemory, "count">;
  readonly #idle: Worker[] = [];

  /**
   * @param looks where what was found ready is counted
   * @param memory MiB of heap that a thread may have; left out, what Node gives one on this machine
   */
  constructor(looks: Pick<HouseMemory, "count">, memory?: number, settings: ThreadSettings = {}) {
    this.#looks = looks;
    this.#memory = memory;
    this.#settings = settings;
  }

  /** Does a job. Rejects with what `failureOf` understands. */
  run<T extends Task>(work: T, { signal, onProgress, onTrouble, sharing }: Watched): Promise<EndOf<T>> {
    if (signal.aborted) return Promise.reject(signal.reason as Error);
    const warm = this.#idle.pop();
    this.#looks.count("threads", warm ? 1 : 0, warm ? 0 : 1);
    const thread = warm ?? this.#start();
    thread.ref();
    const kill = () => void thread.terminate();
    signal.addEventListener("abort", kill, { once: true });
    return new Promise((resolve, reject) => {
      let failure: Failure | undefined;
      let broken: unknown;
      const onError = (error: unknown): void => {
        broken = error;
      };
      const onMessage = (said: Said): void => {
        if ("progress" in said) return onProgress(said.progress);
        if ("trouble" in said) return onTrouble?.(said.trouble);
        if ("asked" in said)
          return void answer(said.question, sharing, said.asked).then((reply) => thread.postMessage(reply));
        if ("failure" in said) {
          failure = said.failure;
          return kill();
        }
        done();
        this.#looks.count("prepared", said.cache.hits, said.cache.misses);
        if (said.tired) kill();
        else this.#rest(thread);
        resolve(said.end as EndOf<T>);
      };
      const onExit = (code: number): void => {
        done();
        if (failure) reject(new FailedRun(failure));
        else
          reject(
            signal.aborted
              ? signal.reason
              : (broken ?? new Error(`the job's thread ended with ${code}, without an answer`)),
          );
      };
      const done = (): void => {
        signal.removeEventListener("abort", kill);
        thread.off("message", onMessage).off("error", onError).off("exit", onExit);
      };
      thread.on("message", onMessage).on("error", onError).on("exit", onExit);
      thread.postMessage({ task: work } satisfies Heard);
    });
  }

  /** Ends the threads that wait; those that work end by their signals. */
  async close(): Promise<void> {
    await Promise.all(this.#idle.splice(0).map((thread) => thread.terminate()));
  }

  #start(): Worker {
    this.started++;
    const memory = this.#memory;
    const data = this.#settings;
    const thread = startThread(
      entryOf(import.meta.url, "./thread"),
      memory === undefined ? { data } : { data, memory },
    );
    // An error of a thread that nobody listens to would be one of the process.
    thread.on("error", () => undefined);
    thread.once("exit", () => {
      const at = this.#idle.indexOf(thread);
      if (at >= 0) this.#idle.splice(at, 1);
    });
    return thread;
  }

  #rest(thread: Worker): void {
    // A thread that waits must not keep the process.
    thread.unref();
    this.#idle.push(thread);
  }
}

const answer = async (question: Question, sharing: Watched["sharing"], reply: number): Promise<Reply> => {
  try {
    if (question === "wanted") return { reply, value: (await sharing?.wanted()) ?? false };
    if (question === "take") return { reply, value: (await sharing?.take()) ?? { done: [] } };
    await sharing?.offer(question.stage, question.offer);
    return { reply, value: undefined };
  } catch (error) {
    return { reply, failure: failureOf(error) };
  }
};
