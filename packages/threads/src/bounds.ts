/** What a task may use. */
export interface Bounds {
  /** Seconds of processor, of all threads together: blind to what else the machine does. */
  readonly seconds: number;
  /** MiB resident in its process. */
  readonly memory: number;
}

/** Why a process ended before its task: over a bound, by a signal from outside, or by a fault in native code. */
export type Cause = "time" | "memory" | "killed" | "crashed";

/** A task ended its process, also one that had done nothing before. */
export class Exhausted extends Error {
  readonly why: Cause;
  readonly bounds: Bounds;
  /** MiB that were resident in the process when it was last heard of, 40 ms before its end or less; to 64 MiB. */
  readonly held: number;
  constructor(why: Cause, bounds: Bounds, how: string, held: number) {
    super(`the process of a task ended: ${why} (${how})`);
    this.why = why;
    this.bounds = bounds;
    this.held = held;
  }
}

/** A task threw. The error's own name, words and system code; what it was is lost between processes. */
export class TaskFailed extends Error {
  readonly code: string | undefined;
  constructor({ name, message, stack, code }: Thrown) {
    super(name === "Error" ? message : `${name}: ${message}`);
    this.name = "TaskFailed";
    this.code = code;
    if (stack !== undefined) this.stack = stack;
  }
}

/** An error as data. */
export interface Thrown {
  readonly name: string;
  readonly message: string;
  readonly stack: string | undefined;
  readonly code: string | undefined;
}

// What the two sides say to each other.
export type ToChild =
  | { readonly task: unknown; readonly bounds: Bounds }
  | { readonly reply: number; readonly value: unknown }
  | { readonly reply: number; readonly thrown: Thrown };
export type ToParent =
  | { readonly ready: true }
  | { readonly question: number; readonly what: unknown }
  | { readonly answer: unknown; readonly tired: boolean }
  | { readonly thrown: Thrown };

export const thrownOf = (error: unknown): Thrown => {
  if (!(error instanceof Error)) return { name: "Error", message: String(error), stack: undefined, code: undefined };
  const code = "code" in error && typeof error.code === "string" ? error.code : undefined;
  return { name: error.name, message: error.message, stack: error.stack, code };
};

/** What a child's lifeline says is lines: why it ends itself (`time`, `memory`, `unwatched`), and the most MiB that were resident in it. */
export const HELD = /^held (\d+)$/;

/** Descriptors of a child beyond the usual three and the channel: the line that tells it of its parent's end, the spool. */
export const LIFELINE = 4;
export const SPOOL = 5;

/** The question for a place in the spool: the crew answers it, not who gave the task. */
export const RESERVE = "kitforme: reserve";
