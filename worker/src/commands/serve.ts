import { resolve } from "node:path";
import type { ServeSettings } from "@kitforme/serve";
import type { Effort } from "@kitforme/run";
import { pino } from "pino";
import { endingOf } from "../ending.ts";
import { EXIT } from "../exit.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { theQueue, theServer } from "../queue.ts";
import { refuse } from "../refuse.ts";

export interface ServeOptions {
  readonly shop: string;
  readonly kits: string;
  readonly out: string;
  readonly redis: string;
  readonly prefix: string;
  readonly listen: { readonly host: string; readonly port: number };
  readonly tokens: string;
  readonly effort: Effort;
  readonly rate?: number;
  /** MiB of a body. */
  readonly body?: number;
  readonly origin?: readonly string[];
  readonly proxy?: readonly string[];
  readonly webhook?: string;
  readonly webhookSecret?: string;
}

/** Answers stores by HTTP until SIGTERM or SIGINT. Logs one JSON line a request, with order and token's name, never a text. */
export const serve = async (options: ServeOptions, outlet: Outlet): Promise<number> => {
  const { startServe } = await theServer();
  const { faultsOfFolders, withoutPassword } = await theQueue();
  const shop = await readNamed(options.shop, "The shop's file");
  if ("finding" in shop) return refuse([shop.finding], "Nothing was served", outlet);
  const { webhook, webhookSecret, rate, body, origin, proxy, listen } = options;
  const house = { shop: resolve(options.shop), kits: resolve(options.kits), out: resolve(options.out) };
  const faults = await faultsOfFolders(house.kits, house.out);
  if ((webhook === undefined) !== (webhookSecret === undefined))
    faults.push("Webhooks need both --webhook and --webhook-secret (KITFORME_WEBHOOK, KITFORME_WEBHOOK_SECRET).");
  const settings: ServeSettings = {
    house,
    redis: options.redis,
    prefix: options.prefix,
    ...listen,
    tokens: resolve(options.tokens),
    effort: options.effort,
    ...(rate === undefined ? {} : { rate }),
    ...(body === undefined ? {} : { body: body << 20 }),
    ...(origin ? { origins: origin } : {}),
    ...(proxy ? { proxy } : {}),
    ...(webhook !== undefined && webhookSecret !== undefined
      ? { webhook: { url: webhook, secret: resolve(webhookSecret) } }
      : {}),
  };
  const log = pino({ name: "kitforme" }, pino.destination({ fd: outlet.json ? 1 : 2, sync: true }));
  const told = new Promise<string>((resolve) => {
    for (const name of ["SIGTERM", "SIGINT"] as const) process.once(name, () => resolve(name));
  });
  let serving: Awaited<ReturnType<typeof startServe>> | undefined;
  if (faults.length === 0)
    try {
      serving = await startServe(settings, {
        onRequest: (line) => log.info(line, "request"),
        onTrouble: (what, error) => log.warn({ what, reason: error.message }, "trouble"),
        onWebhook: ({ order, state }, tries, ok) =>
          log[ok ? "info" : "warn"]({ order, state, tries }, ok ? "webhook taken" : "webhook failed"),
      });
    } catch (error) {
      faults.push(`Not served: ${(error as Error).message}`);
    }
  if (!serving) {
    for (const reason of faults) {
      outlet.event("unable", { reason });
      outlet.say(reason);
    }
    return EXIT.ours;
  }
  log.info({ url: serving.url, redis: withoutPassword(options.redis) }, "serving");
  const signal = await told;
  log.info({ signal }, "stopping: no new requests, finishing those under way");
  const clean = await serving.stop();
  log.info("stopped");
  // A connection goes on calling for a Redis that is away, and would keep the process.
  if (!clean) {
    outlet.end(endingOf(EXIT.done));
    process.exit(EXIT.done);
  }
  return EXIT.done;
};
