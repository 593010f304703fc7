import type { Catalogue } from "../maps/catalogue.ts";
import type { Layout } from "./layout.ts";
import { perform, type Task } from "./perform.ts";
import type { PackRequest } from "./packed.ts";
import { ENTRY, plainThread, type Thread } from "./thread.ts";

/** What a worker thread gets once. */
export interface Setting {
  readonly footprints: PackRequest["footprints"];
  readonly fields: PackRequest["fields"];
  readonly draft: boolean;
  /** Overlap maps that are made already: copied in milliseconds, made in seconds. */
  readonly maps: ReturnType<Catalogue["known"]>;
  /** One number, not 0 once the request is aborted. */
  readonly flag: SharedArrayBuffer;
}

interface Waiting {
  readonly task: Task;
  readonly resolve: (layout: Layout) => void;
  readonly reject: (error: Error) => void;
}

/**
 * Moves that are worth starting threads for: some two thirds of a second's. Every thread loads the kernel, makes its own catalogue and
 * learns anew which functions are hot, 0.3 s of processor each: a quick search of a hundred pieces by two was no sooner done than without.
 */
const WORTH = 8000;

/** Runs tasks in worker threads, or one after the other here when none are wanted. Answers are the same. */
export class Pool {
  readonly #request: PackRequest;
  readonly #catalogue: Catalogue;
  readonly #flag = new SharedArrayBuffer(4);
  readonly #waiting: Waiting[] = [];
  readonly #workers: Thread[] = [];
  readonly #idle: (() => void)[] = [];
  #free = 0;
  readonly #abort = (): void => {
    new Int32Array(this.#flag)[0] = 1;
  };

  /** `moves`: what all tasks together will make, about. */
  constructor(request: PackRequest, catalogue: Catalogue, moves: number) {
    this.#request = request;
    this.#catalogue = catalogue;
    if (request.signal?.aborted === true) this.#abort();
    request.signal?.addEventListener("abort", this.#abort);
    // A clock of the caller's cannot be asked from another thread.
    this.#free = request.stop ? 0 : Math.max(0, request.threads ?? 0);
    if (this.#free < 2 || moves < WORTH) this.#free = 0;
  }

  async run(task: Task): Promise<Layout> {
    if (this.#free === 0 && this.#workers.length === 0) {
      await new Promise(setImmediate);
      const { signal, stop, fields } = this.#request;
      return perform(this.#catalogue, fields, task, () => signal?.aborted === true || stop?.() === true);
    }
    return new Promise((resolve, reject) => {
      this.#waiting.push({ task, resolve, reject });
      const idle = this.#idle.pop();
      if (idle) idle();
      else if (this.#free > 0) {
        this.#free--;
        this.#start();
      }
    });
  }

  #start(): void {
    const { footprints, fields, draft = false, startThread = plainThread } = this.#request;
    const setting: Setting = { footprints, fields, draft, maps: this.#catalogue.known(), flag: this.#flag };
    const worker = startThread(ENTRY, setting);
    this.#workers.push(worker);
    let current: Waiting | undefined;
    const next = (): void => {
      current = this.#waiting.shift();
      if (current) worker.postMessage(current.task);
      else this.#idle.push(next);
    };
    worker.on("message", (layout) => {
      current?.resolve(layout as Layout);
      next();
    });
    worker.on("error", (error) => {
      current?.reject(error instanceof Error ? error : new Error(String(error)));
      for (const waiting of this.#waiting.splice(0)) waiting.reject(new Error("nest: a thread that searched died"));
    });
    next();
  }

  async close(): Promise<void> {
    this.#request.signal?.removeEventListener("abort", this.#abort);
    await Promise.all(this.#workers.map((worker) => worker.terminate()));
  }
}
