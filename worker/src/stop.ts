/** Somebody wanted it to end: nobody's fault. Says what is left behind. */
export class Stopped extends Error {
  constructor(left: string) {
    super(`Stopped by a signal; ${left}`);
  }
}

/** What a stop leaves behind: a part of a sentence ("nothing was written."), and what is to be taken away (a path) before it is true. */
export interface Left {
  readonly words: string;
  readonly unfinished?: string;
  /** Folders that go as well where nothing lies in them, the innermost first. */
  readonly empty?: readonly string[];
}

/** The one that sees the signals and ends the command, as `Stop` knows it. */
export interface Watcher {
  /** What a stop leaves behind from now on. */
  leaves(left: Left): void;
  /** The command looks at its signal from now on, and ends by itself. */
  ends(): void;
  /** A task begins that must not be cut off; false where it is too late. */
  whole(): boolean;
  /** A progress bar stands on the terminal, or does no longer. */
  bar(shown: boolean): void;
  /** `heard` is called at the first signal. */
  listen(heard: () => void): void;
}

/** Where nobody watches, a signal is the process's own affair. */
const NOBODY: Watcher = {
  leaves: () => undefined,
  ends: () => undefined,
  whole: () => true,
  bar: () => undefined,
  listen: () => undefined,
};

/**
 * SIGINT and SIGTERM while a command runs, as the command knows of them. A command that looks at `signal` has a moment to end by
 * itself; any other ends at once, and so does each at the second signal (`watched.ts`). What is left behind then is said in
 * words, which the command keeps true.
 */
export class Stop {
  readonly #controller = new AbortController();
  readonly #watcher: Watcher;
  #left: Left = { words: "nothing was written." };

  constructor(watcher: Watcher = NOBODY) {
    this.#watcher = watcher;
    watcher.listen(() => this.#controller.abort(new Stopped(this.#left.words)));
  }

  /** For a task that ends by itself, with the reason of the signal, when this is aborted. */
  get signal(): AbortSignal {
    this.#watcher.ends();
    return this.#controller.signal;
  }

  /** What a stop leaves behind from now on: "nothing was written."; `unfinished` is a folder or file that is taken away at once. */
  leaves(words: string, unfinished?: string, empty: readonly string[] = []): void {
    this.#left = { words, empty, ...(unfinished === undefined ? {} : { unfinished }) };
    this.#watcher.leaves(this.#left);
  }

  /** Whether a progress bar stands on the terminal: whoever ends the command takes it away. */
  bar(shown: boolean): void {
    this.#watcher.bar(shown);
  }

  /** A short task that is not cut off in the middle; after it a stop comes too late. Throws `Stopped` when one has come before. */
  async whole<T>(words: string, task: () => Promise<T>): Promise<T> {
    this.#controller.signal.throwIfAborted();
    if (!this.#watcher.whole()) throw new Stopped(this.#left.words);
    this.leaves(words);
    return task();
  }
}
