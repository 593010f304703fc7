import { randomUUID } from "node:crypto";
import { setTimeout as wait } from "node:timers/promises";
import { askingRedis, HouseMemory, keysOf, Plans, workerRedis } from "@kitforme/queue";
import { appOf } from "./app.ts";
import { startFeed } from "./feed.ts";
import { type Metrics, metricsOf } from "./metrics.ts";
import { openKits } from "./previews.ts";
import type { Context, Redis, ServeEvents, ServeSettings } from "./settings.ts";
import { openTokens } from "./tokens.ts";
import { readSecret, startWebhooks } from "./webhook.ts";

/** Milliseconds for letting go of Redis and of open kits. */
const LETTING_GO = 5_000;

/** Events that are counted, and said to whoever started the server. */
const alsoTo = (sees: Metrics["sees"], events: ServeEvents): ServeEvents => ({
  ...events,
  onRequest: (line) => {
    sees.onRequest(line);
    events.onRequest?.(line);
  },
  onWebhook: (...tried) => {
    sees.onWebhook(...tried);
    events.onWebhook?.(...tried);
  },
});

/** A server that runs. */
export interface Serving {
  /** Where it listens: http://127.0.0.1:9465 */
  readonly url: string;
  /** Why no orders are taken now; undefined when they are. */
  readonly trouble: () => string | undefined;
  /**
   * Takes no more requests, finishes those it has, ends events; lets go of everything. False when Redis was away and a
   * connection still calls for it: then the process is to end itself.
   */
  stop(): Promise<boolean>;
}

/**
 * Serves the queue by HTTP until stopped. Begins with Redis there or not: until it comes, requests are answered 503. Throws
 * what is wrong with the tokens, the webhook's secret or the address.
 */
export const startServe = async (settings: ServeSettings, events: ServeEvents = {}): Promise<Serving> => {
  const { webhook } = settings;
  if (webhook) await readSecret(webhook.secret);
  const tokens = openTokens(settings.tokens, (fault) => events.onTrouble?.("tokens", new Error(fault)));
  let away = false;
  let stopping = false;
  const heard = (redis: Redis): Redis => {
    redis.on("error", (error: Error) => {
      if (!away && !stopping) events.onTrouble?.("Redis", error);
      away = true;
    });
    redis.on("ready", () => void (away = false));
    return redis;
  };
  const redis = heard(askingRedis(settings.redis));
  const house = { ...settings.house, memory: new HouseMemory() };
  const keys = keysOf(settings.prefix);
  const trouble = (): string | undefined =>
    stopping ? "it stops" : redis.status === "ready" ? undefined : "Redis is away";
  const metrics = metricsOf(
    { redis, keys },
    { ready: () => trouble() === undefined, listeners: () => feed.listeners() },
  );
  const at: Context = { settings, events: alsoTo(metrics.sees, events), house, redis, keys, plans: new Plans() };
  const feed = startFeed(at, heard(workerRedis(settings.redis)));
  const webhooks = webhook
    ? startWebhooks(at, webhook, {
        waiting: heard(workerRedis(settings.redis)),
        working: heard(workerRedis(settings.redis)),
        holder: randomUUID(),
      })
    : undefined;
  const kits = openKits(at);
  const letGo = async (): Promise<boolean> => {
    tokens.close();
    redis.disconnect();
    const enough = new AbortController();
    const all = Promise.all([feed.stop(), webhooks?.stop(), kits.close()]).then(() => true);
    // A command that waits for a Redis which is away is never answered, not even when its connection is given up.
    const late = wait(LETTING_GO, false, { signal: enough.signal }).catch(() => false);
    const clean = await Promise.race([all, late]);
    enough.abort();
    return clean;
  };
  try {
    const { app, endEvents } = await appOf(at, { tokens, feed, kits, metrics, trouble });
    const url = await app.listen({ host: settings.host, port: settings.port });
    return {
      url,
      trouble,
      async stop() {
        stopping = true;
        endEvents();
        // A connection that becomes idle after the close began would be kept for its next request.
        const idle = setInterval(() => app.server.closeIdleConnections(), 50);
        await app.close();
        clearInterval(idle);
        return letGo();
      },
    };
  } catch (error) {
    stopping = true;
    await letGo();
    throw error;
  }
};
