import { countsOf, gaugesOfQueue } from "@kitforme/queue";
import { collectDefaultMetrics, Counter, Gauge, Histogram, Registry } from "prom-client";
import type { Context, ServeEvents } from "./settings.ts";

/** What a server counts: from its events, and of the whole queue when somebody looks. */
export interface Metrics {
  readonly sees: Required<Pick<ServeEvents, "onRequest" | "onWebhook">>;
  /** All of it in the text format of Prometheus, and that format's media type. */
  page(): Promise<{ readonly type: string; readonly text: string }>;
}

/** Seconds; most answers take some milliseconds, previews and uploads longer. */
const SECONDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30];

/** Metrics of a server: what it answered since it started, what the whole queue holds, and the process's memory. */
export const metricsOf = (
  { redis, keys }: Pick<Context, "redis" | "keys">,
  { ready, listeners }: { readonly ready: () => boolean; readonly listeners: () => number },
): Metrics => {
  const register = new Registry();
  collectDefaultMetrics({ register });
  const registers = [register];
  const requests = new Counter({
    name: "kitforme_serve_requests_total",
    help: "Requests that this server has answered, by method, route and status",
    labelNames: ["method", "route", "status"],
    registers,
  });
  const seconds = new Histogram({
    name: "kitforme_serve_request_seconds",
    help: "Seconds from a request to the end of its answer, by route; events end when the listener goes",
    labelNames: ["route"],
    buckets: SECONDS,
    registers,
  });
  const webhooks = new Counter({
    name: "kitforme_serve_webhooks_total",
    help: "Tries of webhooks by this server: taken by the store, or failed",
    labelNames: ["end"],
    registers,
  });
  for (const end of ["taken", "failed"]) webhooks.inc({ end }, 0);
  new Gauge({
    name: "kitforme_serve_ready",
    help: "1 while Redis is reached and requests are taken",
    registers,
    collect() {
      this.set(ready() ? 1 : 0);
    },
  });
  new Gauge({
    name: "kitforme_serve_listeners",
    help: "Pages and stores that listen to events of this server",
    registers,
    collect() {
      this.set(listeners());
    },
  });
  const look = gaugesOfQueue(registers, async () =>
    redis.status === "ready" ? await countsOf(redis, keys) : undefined,
  );
  return {
    sees: {
      onRequest({ method, route, status, ms }) {
        requests.inc({ method, route, status });
        seconds.observe({ route }, ms / 1_000);
      },
      onWebhook: (_, __, ok) => webhooks.inc({ end: ok ? "taken" : "failed" }),
    },
    async page() {
      await look();
      return { type: register.contentType, text: await register.metrics() };
    },
  };
};
