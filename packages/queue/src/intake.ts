import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { kitsNamedIn } from "@kitforme/kit";
import { failureOf } from "@kitforme/run";
import type { Context } from "./context.ts";
import { groupBy } from "./group.ts";
import type { WeighEnd } from "./jobs/tasks.ts";
import type { Again, Answer, OrderText } from "./keys.ts";
import { shopOf } from "./places.ts";
import { script } from "./scripts.ts";
import { fetchFrozen, frozenFor } from "./store/frozen-in-store.ts";
import { freezeFor } from "./submit.ts";
import { faultOfKitsNow, faultOfOutNow, faultOfShopNow } from "./surroundings.ts";
import { fieldsOf, rulesIn } from "./waiting.ts";

/** Orders that are checked at once. */
const MOST = 200;
/** Names looked at to find whole submissions among them. */
const LOOK = 3_000;
/** Gang rules of a frozen shop are kept so long in ms; they are written again with every check. */
const RULES_KEPT = 90 * 24 * 3600_000;

interface Received extends OrderText {
  readonly call: string;
  readonly shop: string;
  readonly kits: readonly string[];
}

interface Frozen {
  readonly orders: readonly Received[];
  readonly shop: string;
  kitsOf(order: Received): readonly string[];
}

/** Checks what has been received: refused with findings, or frozen, weighed and waiting. True when there was anything to do. */
export const takeIn = async (at: Context, signal: AbortSignal): Promise<boolean> => {
  const orders = await received(at);
  if (orders.length === 0) return false;
  // Something made is printed again: there is nothing to freeze, and whoever makes it checks it.
  const again = orders.filter((o) => o.again).flatMap((o) => [o.name, o.call, "ok", "", "", "{}"]);
  if (again.length > 0) await script(at.redis, at.keys, "accept", at.holder, ...again);
  const anew = orders.filter((o) => !o.again);
  const bySubmitter = groupBy(
    anew.filter((o) => o.shop !== ""),
    (o) => `${o.shop}\n${o.call}`,
  );
  for (const group of bySubmitter.values())
    await check(at, { orders: group, shop: (group[0] as Received).shop, kitsOf: (o) => o.kits }, signal);
  const here = anew.filter((o) => o.shop === "");
  const frozen = here.length > 0 ? await freeze(at, here) : undefined;
  if (frozen) await check(at, frozen, signal);
  return true;
};

/** Received orders, whole submissions, the oldest first. */
const received = async ({ redis, keys }: Context): Promise<Received[]> => {
  const first = await redis.zrange(`${keys.prefix}-in:received`, "0", String(LOOK - 1));
  if (first.length === 0) return [];
  const all = first.length < LOOK ? first : await redis.zrange(`${keys.prefix}-in:received`, "0", "-1");
  const calls = await fieldsOf(redis, keys, all, "call");
  const byCall = groupBy(all, (_, i) => calls[i]?.[0] ?? "");
  const names: string[] = [];
  for (const group of byCall.values()) {
    if (names.length >= MOST) break;
    names.push(...group);
  }
  const rows = await fieldsOf(redis, keys, names, "file", "text", "call", "shop", "kits", "pictures", "again");
  return rows.flatMap(([file, text, call, shop, kits, pictures, again], i): Received[] =>
    text == null
      ? []
      : [
          {
            name: names[i] as string,
            file: file ?? "",
            text,
            ...(pictures ? { pictures } : {}),
            call: call ?? "",
            shop: shop ?? "",
            kits: (kits ?? "").split("\n").filter(Boolean),
            ...(again ? { again: JSON.parse(again) as Again } : {}),
          },
        ],
  );
};

/** Freezes shop and kits for orders of submitters who could not. Undefined when shop, kits or a folder cannot be used: then they wait. */
const freeze = async (at: Context, orders: readonly Received[]): Promise<Frozen | undefined> => {
  const { shop: file, kits } = at.settings;
  const fault = await faultOfShopNow(file);
  if (fault !== undefined) {
    at.guard.trip("shop", fault, () => faultOfShopNow(file));
    return undefined;
  }
  try {
    const { shop, kits: byName } = await freezeFor(orders, { ...at.settings, memory: at.memory });
    return { orders, shop, kitsOf: ({ text }) => kitsNamedIn(text).flatMap((kit) => byName.get(kit) ?? []) };
  } catch (error) {
    const { kind, message } = failureOf(error);
    if (kind !== "environment") throw error;
    const look = async () => (await faultOfKitsNow(kits)) ?? (await faultOfOutNow(at));
    at.guard.trip("store", message, look);
    return undefined;
  }
};

const check = async (at: Context, frozen: Frozen, signal: AbortSignal): Promise<void> => {
  const { redis, keys, settings, threads, holder } = at;
  const { orders, shop } = frozen;
  const since = performance.now();
  let end: WeighEnd;
  try {
    const { store, out } = settings;
    if (store)
      await fetchFrozen(
        store,
        out,
        frozenFor(
          shop,
          orders.flatMap((o) => frozen.kitsOf(o)),
          orders,
        ),
      );
    const rules = rulesIn(await readFile(join(shopOf(settings.out, shop), "shop.json"), "utf8"));
    if (rules) await redis.set(`${keys.prefix}-rules:${shop}`, JSON.stringify(rules), "PX", RULES_KEPT);
    const kits = [...new Set(orders.flatMap((o) => frozen.kitsOf(o)))];
    end = await threads.run(
      { kind: "weigh", orders, out: settings.out, shop, kits, shelf: settings.kits },
      { signal, onProgress: () => undefined },
    );
  } catch (error) {
    if (signal.aborted) return;
    const { kind, message } = failureOf(error);
    if (kind === "environment") {
      at.guard.trip("store", message, async () => (await faultOfOutNow(at)) ?? faultOfKitsNow(settings.kits));
      return;
    }
    // One of them is more than a thread can take: each by itself finds out which.
    if (orders.length > 1) for (const order of orders) await check(at, { ...frozen, orders: [order] }, signal);
    else await answer(at, orders[0] as Received, { end: "failed", gang: "", reason: message });
    return;
  }
  const refused = new Map(end.refused.map((r) => [r.order, r.findings]));
  const args: string[] = [];
  for (const order of orders) {
    const findings = refused.get(order.name);
    if (findings) {
      const said: Answer = { end: "refused", gang: "", findings };
      args.push(order.name, order.call, "refused", "", "", JSON.stringify(said));
    } else {
      const sheets = JSON.stringify(end.sheets[order.name] ?? {});
      args.push(order.name, order.call, "ok", shop, frozen.kitsOf(order).join("\n"), sheets);
    }
  }
  await script(redis, keys, "accept", holder, ...args);
  at.events.onStep?.({
    step: "check",
    orders: orders.map((o) => o.name),
    refused: refused.size,
    seconds: (performance.now() - since) / 1_000,
  });
  for (const [order, findings] of refused)
    at.events.onEnd?.("", new Map([[order, { end: "refused", gang: "", findings }]]));
};

const answer = async (at: Context, order: Received, said: Answer): Promise<void> => {
  await script(at.redis, at.keys, "accept", at.holder, order.name, order.call, said.end, "", "", JSON.stringify(said));
  at.events.onEnd?.("", new Map([[order.name, said]]));
};
