import { createHmac } from "node:crypto";
import { readFile } from "node:fs/promises";
import { setTimeout as wait } from "node:timers/promises";
import { Queue, Worker } from "bullmq";
import { type Change, changeOf } from "@kitforme/queue";
import type { Context, Redis, ServeSettings } from "./settings.ts";

/** Tries before a change is given up: two seconds after the first, then twice as long each time, about nine hours in all. */
const TRIES = 15;
const FIRST_WAIT = 2_000;
/** Milliseconds that the store has for its answer. */
const PATIENCE = 10_000;
const AT_ONCE = 10;
const LEAST_SECRET = 32;
/** Milliseconds after which what another process read and did not queue is taken over. */
const ABANDONED = 60_000;

/**
 * The signature of a webhook: HMAC-SHA-256 (RFC 2104) under the secret, of the time in seconds since 1970, a full stop and the
 * body; hexadecimal, behind `v1=`.
 */
export const signatureOf = (secret: string, seconds: number, body: string): string =>
  `v1=${createHmac("sha256", secret).update(`${seconds}.${body}`).digest("hex")}`;

/** The secret in a file, less blank space at its end. Throws what is wrong with it. */
export const readSecret = async (file: string): Promise<string> => {
  const secret = (await readFile(file, "utf8")).trim();
  if (secret.length < LEAST_SECRET)
    throw new Error(`the webhook's secret in ${file} has less than ${LEAST_SECRET} signs (openssl rand -hex 32)`);
  return secret;
};

/** One try. Throws when no 2xx came. A redirect is no 2xx: the body is for the address that the shop has named. */
const send = async (url: string, secret: string, change: Change): Promise<void> => {
  const body = JSON.stringify(change);
  const seconds = Math.floor(Date.now() / 1_000);
  const response = await fetch(url, {
    method: "POST",
    redirect: "manual",
    headers: {
      "content-type": "application/json",
      "kitforme-timestamp": String(seconds),
      "kitforme-signature": signatureOf(secret, seconds, body),
    },
    body,
    signal: AbortSignal.timeout(PATIENCE),
  });
  await response.body?.cancel();
  if (!response.ok) throw new Error(`the store answered ${response.status}`);
};

export interface Webhooks {
  stop(): Promise<void>;
}

/**
 * Sends every change of a state to the store, each at least once. A consumer group of the stream of changes hands each to one
 * serving process, which queues it in Redis before it is ticked off; BullMQ tries it again with growing waits. The first
 * start begins with the next change. `waiting` and `working` are connections of its own.
 */
export const startWebhooks = (
  { keys, events }: Context,
  { url, secret, firstWait = FIRST_WAIT }: NonNullable<ServeSettings["webhook"]>,
  { waiting, working, holder }: { readonly waiting: Redis; readonly working: Redis; readonly holder: string },
): Webhooks => {
  const stream = `${keys.prefix}-events`;
  const group = "webhooks";
  const queue = new Queue<Change>("webhooks", { connection: working, prefix: keys.prefix });
  const worker = new Worker<Change>(
    "webhooks",
    async (job) => {
      // Read anew each time: a secret is replaced without a restart.
      await send(url, await readSecret(secret), job.data);
      events.onWebhook?.(job.data, job.attemptsMade + 1, true);
    },
    { connection: working, prefix: keys.prefix, concurrency: AT_ONCE },
  );
  const onError = (error: Error): void => events.onTrouble?.("webhooks", error);
  queue.on("error", onError);
  worker.on("error", onError);
  worker.on("failed", (job, error) => {
    if (!job) return;
    events.onWebhook?.(job.data, job.attemptsMade, false);
    if (job.attemptsMade >= TRIES) events.onTrouble?.(`webhook of ${job.data.order} given up`, error);
  });

  const take = async (entries: readonly [string, string[]][]): Promise<void> => {
    if (entries.length === 0) return;
    await queue.addBulk(
      entries.map(([id, fields]) => ({
        name: "change",
        data: changeOf(id, fields),
        opts: {
          jobId: id,
          priority: 1,
          attempts: TRIES,
          backoff: { type: "exponential", delay: firstWait },
          removeOnComplete: { count: 1_000 },
          removeOnFail: { age: 7 * 86_400 },
        },
      })),
    );
    await waiting.xack(stream, group, ...entries.map(([id]) => id));
  };
  let stopped = false;
  const read = async (): Promise<void> => {
    let ready = false;
    while (!stopped) {
      try {
        if (!ready)
          await waiting.xgroup("CREATE", stream, group, "$", "MKSTREAM").catch((error: Error) => {
            if (!error.message.startsWith("BUSYGROUP")) throw error;
          });
        ready = true;
        const left = await waiting.xautoclaim(stream, group, holder, ABANDONED, "0", "COUNT", 100);
        await take((left[1] as [string, string[]][]).filter(([, fields]) => fields));
        const news = (await waiting.xreadgroup(
          "GROUP",
          group,
          holder,
          "COUNT",
          200,
          "BLOCK",
          1_000,
          "STREAMS",
          stream,
          ">",
        )) as [string, [string, string[]][]][] | null;
        await take(news?.[0]?.[1] ?? []);
      } catch (error) {
        if (stopped) return;
        ready = false;
        events.onTrouble?.("webhooks", error as Error);
        await wait(1_000);
      }
    }
  };
  const done = read();
  return {
    async stop() {
      stopped = true;
      waiting.disconnect();
      await done;
      await worker.close();
      await queue.close();
      working.disconnect();
    },
  };
};
