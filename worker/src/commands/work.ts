import { resolve } from "node:path";
import { type Finding, readShop } from "@kitforme/kit";
import { besideFile, profilesBeside } from "@kitforme/run";
import type { Working, WorkSettings } from "@kitforme/queue";
import { optimiseLate } from "@kitforme/threads";
import { pino } from "pino";
import { EXIT } from "../exit.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { theQueue } from "../queue.ts";
import { refuse } from "../refuse.ts";
import { storeAt } from "../store.ts";

export interface WorkOptions extends Omit<WorkSettings, "cache" | "store"> {
  /** Address of an S3-compatible store. */
  readonly store?: string;
  /** Folder of prepared pieces; left out, the queue's own in the out folder. */
  readonly cache?: string;
  /** MiB that they may take; 0: none are kept. */
  readonly cacheSize: number;
  readonly health?: string;
  readonly redis: string;
  readonly prefix: string;
}

/** The findings name the shop's file as the caller does. */
const inFile = (file: string, findings: readonly Finding[]): readonly Finding[] =>
  findings.map((f) => ({ ...f, where: { ...f.where, file } }));

/** Works until SIGTERM or SIGINT; then finishes or hands back what it holds. Logs one JSON line an event, no personal text in them. */
export const work = async (options: WorkOptions, outlet: Outlet): Promise<number> => {
  // Of the processor that a worker used over 26 sheets V8's compilers took a quarter; with this, a seventh.
  optimiseLate();
  const queue = await theQueue();
  // Whoever asks for an order's folder may stand elsewhere than this worker did.
  const [out, kits, shopFile] = [resolve(options.out), resolve(options.kits), resolve(options.shop)];
  // Before the first order is touched: else every order would run into it, one by one.
  const shop = await readNamed(options.shop, "The shop's file");
  const findings =
    "finding" in shop
      ? [shop.finding]
      : inFile(
          options.shop,
          readShop(shop.text, await profilesBeside({ ...shop, read: besideFile(options.shop) })).findings,
        );
  const { store, fault } = await storeAt(queue, options.store);
  const faults = [
    ...(fault === undefined ? [] : [fault]),
    ...(await queue.faultsOfFolders(options.kits, out)),
    ...(options.cache === undefined || options.cacheSize === 0 ? [] : await queue.faultsOfCache(options.cache)),
  ];
  for (const reason of faults) {
    outlet.event("unable", { reason });
    outlet.say(reason);
  }
  if (findings.some((f) => f.level === "error")) return refuse(findings, "No order was taken", outlet);
  if (faults.length > 0) return EXIT.ours;

  const log = pino({ name: "kitforme" }, pino.destination({ fd: outlet.json ? 1 : 2, sync: true }));
  const stopped = new Promise<string>((resolve) => {
    for (const name of ["SIGTERM", "SIGINT"] as const) process.once(name, () => resolve(name));
  });
  // The health address first: one that is taken must end the start before any order has been touched.
  const at: { working?: Working } = {};
  const health =
    options.health === undefined
      ? undefined
      : await queue.startHealth(options.health, {
          ready: () => at.working?.ready() === true,
          trouble: () => at.working?.trouble(),
          counts: async () => at.working?.counts(),
          looks: () => at.working?.looks(),
        });
  const redis = queue.workerRedis(options.redis);
  let away = false;
  redis.on("error", (error) => {
    if (!away)
      log.warn(
        { redis: queue.withoutPassword(options.redis), reason: queue.wordsOf(error) },
        "Redis is away; trying again",
      );
    away = true;
  });
  redis.on("ready", () => {
    away = false;
    log.info({ redis: queue.withoutPassword(options.redis) }, "Redis is there");
  });
  redis.once("ready", () => {
    void queue.warningsOfRedis(redis).then((all) => all.forEach((warning) => log.warn(warning)));
  });
  const { cache: folder, cacheSize, store: _store, ...settings } = options;
  const bytes = cacheSize * 2 ** 20;
  const cache = bytes > 0 && { folder: resolve(folder ?? queue.cacheIn(out)), bytes };
  at.working = queue.startWork(
    redis,
    queue.keysOf(options.prefix),
    { ...settings, out, kits, shop: shopFile, ...(cache ? { cache } : {}), ...(store ? { store } : {}) },
    {
      onEnd(gang, answers) {
        health?.sees.onEnd(gang, answers);
        for (const [order, answer] of answers)
          log.info(
            {
              ...(gang === "" ? {} : { gang }),
              order,
              end: answer.end,
              ...(answer.end === "made" ? { job: answer.job, folder: answer.folder } : {}),
            },
            "order ended",
          );
      },
      onStep(step) {
        health?.sees.onStep(step);
        const { seconds } = step;
        log.info(
          { ...step, ...(seconds === undefined ? {} : { seconds: Math.round(seconds * 1_000) / 1_000 }) },
          "step",
        );
      },
      onTrouble(gang, error, again) {
        if (gang === undefined && away) return; // the queue's own connections miss Redis too; it has been said once
        health?.sees.onTrouble(gang, error, again);
        log[again ? "warn" : "error"](
          { gang, again, reason: error.message },
          again ? "trying again" : "gang ended without a job folder",
        );
      },
      onPause(cause) {
        if (cause === undefined) log.info("work goes on");
        else log.warn({ cause }, "work pauses");
      },
      onLost(gang) {
        health?.sees.onLost(gang);
        log.warn({ gang }, "the claim is another process's by now; nothing of this attempt counts");
      },
    },
  );
  log.info({ concurrency: options.concurrency, out }, "taking orders");
  const signal = await stopped;
  log.info({ signal }, "stopping: no new orders, finishing what runs");
  const clean = await at.working.stop();
  await health?.close();
  redis.disconnect();
  if (!clean) {
    const reason = "Redis is away: what was held could not be handed back, and is taken up when its lock has run out";
    log.warn(reason);
    outlet.end({ how: "environment", exit: EXIT.ours, reason, spoken: true });
    // BullMQ's own connection goes on calling for Redis and would keep the process.
    process.exit(EXIT.ours);
  }
  log.info("stopped");
  return EXIT.done;
};
