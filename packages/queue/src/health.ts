import { createServer, type Server } from "node:http";
import { type Metrics, metricsOf, type Watched } from "./metrics.ts";

/** A worker's open health address, and what it counts. */
export interface Health {
  /** Counts what the worker reports. */
  readonly sees: Metrics["sees"];
  close(): Promise<void>;
}

/**
 * GET /live: 200 as long as this process answers. GET /health: 200 `ready`, or 503 with the cause while Redis is away or work pauses. GET /metrics: counts in the Prometheus text format.
 * `address` is PORT or HOST:PORT; without a host only this machine is listened to.
 */
export const startHealth = async (address: string, watched: Watched): Promise<Health> => {
  const { ready, trouble } = watched;
  const [port, host] = address.includes(":")
    ? [address.slice(address.lastIndexOf(":") + 1), address.slice(0, address.lastIndexOf(":")).replace(/^\[|\]$/g, "")]
    : [address, "127.0.0.1"];
  const metrics = metricsOf(watched);
  const server: Server = createServer((request, response) => {
    if (request.url === "/live") response.writeHead(200).end("live\n");
    else if (request.url === "/health")
      response
        .writeHead(ready() ? 200 : 503)
        .end(ready() ? "ready\n" : `not ready: ${trouble() ?? "starting or stopping"}\n`);
    else if (request.url === "/metrics")
      void metrics.page().then(
        ({ type, text }) => response.writeHead(200, { "content-type": type }).end(text),
        (error: unknown) => response.writeHead(500).end(`${String(error)}\n`),
      );
    else response.writeHead(404).end("try /live, /health or /metrics\n");
  });
  await new Promise<void>((resolve, reject) => {
    server.once("error", reject);
    server.listen(Number(port), host, resolve);
  });
  return { sees: metrics.sees, close: () => new Promise((resolve) => void server.close(() => resolve())) };
};
