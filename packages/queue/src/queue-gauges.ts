import { Gauge, type Registry } from "prom-client";
import type { Counts } from "./status.ts";

/**
 * Metrics of the whole queue, the same whichever process of it is asked: orders by state, age of the oldest, gangs by lane, and
 * whether work pauses. The function returned looks at the queue; it is to be called before the page is written.
 */
export const gaugesOfQueue = (
  registers: Registry[],
  counts: () => Promise<Counts | undefined>,
): (() => Promise<void>) => {
  const states = new Gauge({
    name: "kitforme_orders",
    help: "Orders by state, of the whole queue",
    labelNames: ["state"],
    registers,
  });
  const oldest = new Gauge({
    name: "kitforme_oldest_order_seconds",
    help: "Age of the oldest order without an end, of the whole queue",
    registers,
  });
  const depth = new Gauge({
    name: "kitforme_queue_depth",
    help: "Gangs that wait for a worker or are being made, by lane, of the whole queue",
    labelNames: ["lane", "state"],
    registers,
  });
  const paused = new Gauge({
    name: "kitforme_queue_paused",
    help: "1 while some worker of the queue says that work pauses",
    registers,
  });
  return async () => {
    const now = await counts().catch(() => undefined);
    // Numbers of a Redis that is away are no numbers: better none than old ones.
    for (const gauge of [states, oldest, depth, paused]) gauge.reset();
    if (!now) return oldest.remove();
    for (const [state, n] of Object.entries(now.counts)) states.set({ state }, n);
    for (const [lane, { waiting, making }] of Object.entries(now.gangs)) {
      depth.set({ lane, state: "waiting" }, waiting);
      depth.set({ lane, state: "making" }, making);
    }
    oldest.set((now.age ?? 0) / 1_000);
    paused.set(now.trouble === undefined ? 0 : 1);
  };
};
