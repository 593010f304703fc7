// What the queue's options are, for a command that may be without the queue's package.
import type { State } from "@kitforme/queue";

export const DEFAULT_URL = "redis://127.0.0.1:6379";
export const DEFAULT_PREFIX = "kitforme";

/** States of an order, in the sequence of its life. */
export const STATES = [
  "received",
  "checked",
  "waiting",
  "ganged",
  "making",
  "made",
  "refused",
  "failed",
  "cancelled",
] as const satisfies readonly State[];

/** What is wrong with an address of Redis; undefined when nothing is. Else it would be taken for a socket's path or a host's name. */
export const faultOfUrl = (url: string): string | undefined => {
  const known = URL.canParse(url) && ["redis:", "rediss:"].includes(new URL(url).protocol);
  return known ? undefined : "It is to read redis://HOST:PORT, or rediss://HOST:PORT for a connection by TLS.";
};
