import { createServer, type Server } from "node:http";
import { Counter, Gauge, Registry } from "prom-client";
import type { Counts } from "./status.ts";

/** A worker's open health address, and what it counts. */
export interface Health {
  readonly orders: Counter<"end">;
  readonly retries: Counter;
  close(): Promise<void>;
}

/** What is asked of the work when somebody looks. */
export interface Watched {
  readonly ready: () => boolean;
  readonly trouble: () => string | undefined;
  /** Orders by state, and when the oldest that has no end was received, in ms; undefined while Redis is away. */
  readonly counts: () => Promise<Counts | undefined>;
}

/**
 * GET /live: 200 as long as this process answers. GET /health: 200 `ready`, or 503 with the cause while Redis is away or work pauses. GET /metrics: counts in the Prometheus text format.
 * `address` is PORT or HOST:PORT; without a host only this machine is listened to.
 */
export const startHealth = async (address: string, { ready, trouble, counts }: Watched): Promise<Health> => {
  const [port, host] = address.includes(":")
    ? [address.slice(address.lastIndexOf(":") + 1), address.slice(0, address.lastIndexOf(":")).replace(/^\[|\]$/g, "")]
    : [address, "127.0.0.1"];
  const register = new Registry();
  const orders = new Counter({
    name: "kitforme_orders_total",
    help: "Orders by how they ended",
    labelNames: ["end"],
    registers: [register],
  });
  const retries = new Counter({
    name: "kitforme_retries_total",
    help: "Attempts that failed and are tried again",
    registers: [register],
  });
  new Gauge({
    name: "kitforme_ready",
    help: "1 while Redis is reached and jobs are taken",
    registers: [register],
    collect() {
      this.set(ready() ? 1 : 0);
    },
  });
  const states = new Gauge({
    name: "kitforme_orders",
    help: "Orders by state, of the whole queue",
    labelNames: ["state"],
    registers: [register],
  });
  const oldest = new Gauge({
    name: "kitforme_oldest_order_seconds",
    help: "Age of the oldest order without an end, of the whole queue",
    registers: [register],
  });
  const count = async (): Promise<void> => {
    const now = await counts().catch(() => undefined);
    // Numbers of a Redis that is away are no numbers: better none than old ones.
    states.reset();
    oldest.reset();
    for (const [state, n] of Object.entries(now?.counts ?? {})) states.set({ state }, n);
    if (now) oldest.set(now.oldest === undefined ? 0 : Math.max(0, (Date.now() - now.oldest) / 1000));
  };
  const server: Server = createServer((request, response) => {
    if (request.url === "/live") response.writeHead(200).end("live\n");
    else if (request.url === "/health")
      response
        .writeHead(ready() ? 200 : 503)
        .end(ready() ? "ready\n" : `not ready: ${trouble() ?? "starting or stopping"}\n`);
    else if (request.url === "/metrics")
      void count()
        .then(() => register.metrics())
        .then((text) => response.writeHead(200, { "content-type": register.contentType }).end(text));
    else response.writeHead(404).end("try /live, /health or /metrics\n");
  });
  await new Promise<void>((resolve, reject) => {
    server.once("error", reject);
    server.listen(Number(port), host, resolve);
  });
  return { orders, retries, close: () => new Promise((resolve) => void server.close(() => resolve())) };
};
