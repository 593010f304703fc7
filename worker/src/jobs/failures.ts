/**
 * Codes of the operating system that clear by themselves or by an operator's hand: the job is worth another try. A file of
 * shop or kit that is not there never comes so far, it is a finding; ENOENT here is a folder or a share that has gone.
 */
const WEATHER = new Set([
  "ENOSPC",
  "EDQUOT",
  "EFBIG",
  "EIO",
  "EBUSY",
  "EMFILE",
  "ENFILE",
  "EAGAIN",
  "ENOMEM",
  "ESTALE",
  "EROFS",
  "EACCES",
  "EPERM",
  "ENOENT",
  "ENOTDIR",
  "ENOTCONN",
  "ETIMEDOUT",
  "ECONNRESET",
  "ECONNREFUSED",
  "EPIPE",
  "EADDRINUSE",
  "EADDRNOTAVAIL",
  "EHOSTUNREACH",
  "ENETUNREACH",
  "ENOTFOUND",
  "EAI_AGAIN",
]);

/** What Redis replies when it is full, loading, being replaced or busy (its own error codes, the first word of a reply). */
const REDIS_WEATHER =
  /^(OOM|LOADING|READONLY|MASTERDOWN|BUSY|TRYAGAIN|CLUSTERDOWN|MISCONF|NOREPLICAS|Connection is closed)/;

export interface Failure {
  readonly kind: "weather" | "ours";
  /** What happened and, where there is something to do, what to do. */
  readonly message: string;
}

/** A failure that says of itself whether another try is worth it. */
export class FailedRun extends Error {
  readonly failure: Failure;
  constructor(failure: Failure) {
    super(failure.message);
    this.failure = failure;
  }
}

/** Heap of a thread (Node's code), or memory outside it that could not be had (V8's words). */
const isOutOfMemory = (error: Error): boolean =>
  ("code" in error && error.code === "ERR_WORKER_OUT_OF_MEMORY") ||
  (error instanceof RangeError && /allocation failed|could not allocate memory/i.test(error.message));

const OUT_OF_MEMORY =
  "the job needs more memory than it may have: submit its orders in smaller batches, or give the worker's jobs more (--memory or KITFORME_MEMORY, in MiB)";

/**
 * What a failure is. `weather`: disk or network, retried with back-off. `ours`: a bug or too little memory, the same again
 * on every try, so it is not retried. (A fault of the input is neither: it is an answer with findings and never thrown.)
 */
export const failureOf = (error: unknown): Failure => {
  if (error instanceof FailedRun) return error.failure;
  const message = error instanceof Error ? error.message : String(error);
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if (isOutOfMemory(e)) return { kind: "ours", message: OUT_OF_MEMORY };
    if ("code" in e && typeof e.code === "string" && WEATHER.has(e.code)) return { kind: "weather", message };
    if (REDIS_WEATHER.test(e.message)) return { kind: "weather", message };
  }
  return { kind: "ours", message };
};
