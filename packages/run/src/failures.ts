/**
 * Codes of the operating system that clear by themselves or by an operator's hand: the job is worth another try. A file of
 * shop or kit that is not there never comes so far, it is a finding; ENOENT here is a folder or a share that has gone.
 */
const ENVIRONMENT = new Set([
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
  "EEXIST",
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
const REDIS_REPLIES =
  /^(OOM|LOADING|READONLY|MASTERDOWN|BUSY|TRYAGAIN|CLUSTERDOWN|MISCONF|NOREPLICAS|Connection is closed)/;

/** Why something that is no fault of the input went wrong. */
export interface Failure {
  readonly kind: "environment" | "ours";
  /** What happened and, where there is something to do, what to do. */
  readonly message: string;
}

/**
 * A failure that says of itself whether another try is worth it.
 *
 * @example
 * throw new FailedRun({ kind: "environment", message: "the share with the kits is away" });
 */
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

/** What the system's codes mean to those on duty; the rest are shown as they are. */
const IN_WORDS: Readonly<Record<string, string>> = {
  ENOSPC: "the disk is full",
  EDQUOT: "the disk quota is used up",
  EROFS: "the disk is mounted read-only",
  EACCES: "permission is denied",
  EPERM: "permission is denied",
  ENOENT: "the folder is not there; is its share mounted?",
  EEXIST: "a file stands where a folder should be",
  ENOTDIR: "a part of the path is a file, not a folder",
  EIO: "the disk reports an input/output error",
  ESTALE: "the share has been replaced or is gone",
  EFBIG: "a file may not be that large here (the file system's limit, or ulimit -f)",
  EAGAIN: "the system gives no more threads or processes (ulimit -u, or the container's limit)",
  ENOMEM: "the machine is out of memory",
  EMFILE: "this process has too many open files",
  ENFILE: "the machine has too many open files",
};

/** The system's own sentence with its code in words and its path, where it has one. */
const environmentWords = (error: NodeJS.ErrnoException, whole: string): string => {
  const code = error.code as string;
  const words = IN_WORDS[code];
  if (words === undefined) return whole;
  const path = error.path ?? (whole === error.message ? undefined : whole);
  return `${words} (${code})${path === undefined ? `: ${whole}` : `: ${path}`}`;
};

/**
 * What a failure is. `environment`: disk or network, tried again with back-off for as long as it lasts. `ours`: a bug or too
 * little memory, the same again on every try, so it is not tried again. (A fault of the input is neither: it is an answer
 * with findings and never thrown.)
 *
 * @example
 * try {
 *   await run({ shop, orders: [order] }, { kits: kitsIn("kits"), out: () => jobFolder("out") });
 * } catch (error) {
 *   const { kind, message } = failureOf(error);
 *   if (kind === "environment") console.log("try again later:", message);
 *   else throw error;
 * }
 */
export const failureOf = (error: unknown): Failure => {
  if (error instanceof FailedRun) return error.failure;
  const message = error instanceof Error ? error.message : String(error);
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if (isOutOfMemory(e)) return { kind: "ours", message: OUT_OF_MEMORY };
    if ("code" in e && typeof e.code === "string" && ENVIRONMENT.has(e.code))
      return { kind: "environment", message: environmentWords(e as NodeJS.ErrnoException, message) };
    if (REDIS_REPLIES.test(e.message)) return { kind: "environment", message };
  }
  return { kind: "ours", message };
};
