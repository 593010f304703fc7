import { Stopped } from "./ending.ts";

/** Milliseconds after a signal in which a command may end by itself; then the process ends. */
const ENDING = 1_200;

/**
 * SIGINT and SIGTERM while a command runs. A command that looks at `signal` has a moment to end by itself; any other ends
 * at once, and so does each at the second signal. What is left behind then is said in words, which the command keeps true.
 */
export class Stop {
  readonly #controller = new AbortController();
  readonly #end: (stopped: Stopped) => void;
  #left = "nothing was written.";
  #clear: () => void = () => undefined;
  readonly #last: (() => void)[] = [];
  #timer: NodeJS.Timeout | undefined;
  #ends = false;
  #busy = false;

  /** @param end says the last words and ends the process. */
  constructor(end: (stopped: Stopped) => void) {
    this.#end = end;
    for (const name of ["SIGINT", "SIGTERM"] as const) process.on(name, this.#onSignal);
  }

  /** For a task that ends by itself, with the reason of the signal, when this is aborted. */
  get signal(): AbortSignal {
    this.#ends = true;
    return this.#controller.signal;
  }

  /** What a stop leaves behind from now on, a part of a sentence: "nothing was written." `clear` takes half-made things away at once. */
  leaves(left: string, clear: () => void = this.#clear): void {
    this.#left = left;
    this.#clear = clear;
  }

  /** Done before the last words, as taking a bar off the terminal. */
  atLast(task: () => void): void {
    this.#last.push(task);
  }

  /** A short task that is not cut off in the middle; after it a stop comes too late. Throws `Stopped` when one has come before. */
  async whole<T>(left: string, task: () => Promise<T>): Promise<T> {
    this.#controller.signal.throwIfAborted();
    this.leaves(left, () => undefined);
    this.#busy = true;
    return task();
  }

  /** Signals are the process's own affair again. */
  release(): void {
    clearTimeout(this.#timer);
    for (const name of ["SIGINT", "SIGTERM"] as const) process.off(name, this.#onSignal);
  }

  readonly #onSignal = (): void => {
    const stopped = new Stopped(this.#left);
    if (this.#controller.signal.aborted) return this.#atOnce();
    this.#controller.abort(stopped);
    if (this.#busy) return;
    if (!this.#ends) return this.#atOnce();
    // A long computation looks at the signal when it comes to a pause; whoever pressed the keys is not kept waiting for it.
    this.#timer = setTimeout(() => this.#atOnce(), ENDING);
    this.#timer.unref();
  };

  #atOnce(): void {
    for (const task of this.#last) task();
    this.#clear();
    this.#end(new Stopped(this.#left));
  }
}
