/** Codes of the operating system that clear by themselves or by an operator's hand: the job is worth another try. */
const WEATHER = new Set([
  "ENOSPC",
  "EDQUOT",
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
  readonly message: string;
}

/** A run that failed in its thread. */
export class FailedRun extends Error {
  readonly failure: Failure;
  constructor(failure: Failure) {
    super(failure.message);
    this.failure = failure;
  }
}

/**
 * Whose fault a failure is. `weather`: disk or network, retried with back-off. `ours`: a bug, the same again on every try,
 * so it is not retried. (A fault of the input is neither: it is an answer with findings and never thrown.)
 */
export const kindOf = (error: unknown): Failure["kind"] => {
  if (error instanceof FailedRun) return error.failure.kind;
  for (let e: unknown = error, depth = 0; e instanceof Error && depth < 5; e = e.cause, depth++) {
    if ("code" in e && typeof e.code === "string" && WEATHER.has(e.code)) return "weather";
    if (REDIS_WEATHER.test(e.message)) return "weather";
  }
  return "ours";
};
