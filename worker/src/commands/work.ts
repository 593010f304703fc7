import { pino } from "pino";
import { EXIT } from "../exit.ts";
import { startHealth } from "../health.ts";
import type { Outlet } from "../outlet.ts";
import { keysOf } from "../queue/names.ts";
import { withoutPassword, workerRedis } from "../queue/redis.ts";
import { startWork, type Working } from "../queue/work.ts";

export interface WorkOptions {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly concurrency: number;
  readonly grace: number;
  readonly health?: string;
  readonly redis: string;
  readonly prefix: string;
}

/** Works until SIGTERM or SIGINT; then finishes or hands back what it holds. Logs one JSON line an event, no personal text in them. */
export const work = async (options: WorkOptions, outlet: Outlet): Promise<number> => {
  const log = pino({ name: "kitforme" }, pino.destination({ fd: outlet.json ? 1 : 2, sync: true }));
  const told = new Promise<string>((resolve) => {
    for (const name of ["SIGTERM", "SIGINT"] as const) process.once(name, () => resolve(name));
  });
  // The health address first: one that is taken must end the start before any order has been touched.
  const at: { working?: Working } = {};
  const health =
    options.health === undefined ? undefined : await startHealth(options.health, () => at.working?.ready() === true);
  const redis = workerRedis(options.redis);
  let away = false;
  redis.on("error", (error) => {
    if (!away)
      log.warn({ redis: withoutPassword(options.redis), reason: error.message }, "Redis is away; trying again");
    away = true;
  });
  redis.on("ready", () => {
    away = false;
    log.info({ redis: withoutPassword(options.redis) }, "Redis is there");
  });
  at.working = startWork(
    redis,
    keysOf(options.prefix),
    {
      shop: options.shop,
      kits: options.kits,
      out: options.out,
      concurrency: options.concurrency,
      grace: options.grace * 1_000,
    },
    {
      onEnd(batch, answers) {
        for (const [order, answer] of answers) {
          health?.orders.inc({ end: answer.end });
          log.info(
            { batch, order, end: answer.end, ...(answer.end === "made" ? { folder: answer.folder } : {}) },
            "order ended",
          );
        }
      },
      onTrouble(batch, error, again) {
        if (again) health?.retries.inc();
        log[again ? "warn" : "error"](
          { batch, again, reason: error.message },
          again ? "trying again" : "batch ended without a job folder",
        );
      },
    },
  );
  log.info({ concurrency: options.concurrency, out: options.out }, "taking orders");
  const signal = await told;
  log.info({ signal }, "stopping: no new orders, finishing what runs");
  const clean = await at.working.stop();
  await health?.close();
  redis.disconnect();
  if (!clean) {
    log.warn("Redis is away: what was held could not be handed back, and is taken up when its lock has run out");
    // BullMQ's own connection goes on calling for Redis and would keep the process.
    process.exit(EXIT.ours);
  }
  log.info("stopped");
  return EXIT.done;
};
