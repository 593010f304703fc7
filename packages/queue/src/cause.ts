/** Causes by which retries are counted. */
export const CAUSES = [
  "disk_full",
  "disk_read_only",
  "disk_away",
  "memory_short",
  "redis_full",
  "redis_away",
  "worker_killed",
  "claim_lost",
  "other",
] as const;
export type Cause = (typeof CAUSES)[number];

/** Codes of the system (POSIX errno) and of Redis, as they stand in the words of a failure. */
const SIGNS: readonly (readonly [RegExp, Cause])[] = [
  [/\b(ENOSPC|EDQUOT)\b/, "disk_full"],
  [/\bEROFS\b/, "disk_read_only"],
  [/\bENOMEM\b|short of memory/, "memory_short"],
  [/\bOOM command not allowed|\bmaxmemory\b/, "redis_full"],
  [
    /\b(ECONN\w+|EPIPE|ETIMEDOUT|ENOTFOUND|EAI_AGAIN|READONLY|LOADING)\b|Redis is away|Connection is closed/,
    "redis_away",
  ],
  [/\b(ENOENT|ENOTDIR|EACCES|EPERM|EIO|ESTALE|ENODEV|ENXIO|EHOSTDOWN|ENOTCONN)\b|mounted/, "disk_away"],
  [/processes died/, "worker_killed"],
];

/** Why an attempt is tried again, by the words of what went wrong. */
export const causeOf = (words: string): Cause => SIGNS.find(([sign]) => sign.test(words))?.[1] ?? "other";
