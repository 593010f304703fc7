import { resolve } from "node:path";
import { readOrderForm } from "@kitforme/kit";
import type { Submission, SubmitHow } from "@kitforme/queue";
import type { Effort, Finding } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import { readNamed } from "../files.ts";
import type { Outlet } from "../outlet.ts";
import { theQueue } from "../queue.ts";
import { refuse } from "../refuse.ts";
import { storeAt } from "../store.ts";

export interface SubmitOptions {
  readonly effort: Effort;
  readonly now?: boolean;
  readonly change?: boolean;
  readonly shop?: string;
  readonly kits?: string;
  readonly out?: string;
  readonly store?: string;
  readonly redis: string;
  readonly prefix: string;
}

/** Puts orders on the queue, after a look at their form; whether their kits are there is for the worker to say. */
export const submit = async (paths: readonly string[], options: SubmitOptions, outlet: Outlet): Promise<number> => {
  const queue = await theQueue();
  const { submitOrders, withRedis, keysOf } = queue;
  const findings: Finding[] = [];
  const submissions: Submission[] = [];
  for (const path of paths) {
    const file = await readNamed(path, "The order");
    if ("finding" in file) {
      findings.push(file.finding);
      continue;
    }
    const form = readOrderForm({ file: path, text: file.text });
    findings.push(...form.findings);
    if (form.value) submissions.push({ name: form.value.order, file: path, text: file.text, content: form.value });
  }
  if (findings.some((f) => f.level === "error")) return refuse(findings, "Nothing was put on the queue", outlet);
  const { effort, now, change, shop, kits, out } = options;
  const { store, fault } = await storeAt(queue, options.store);
  if (fault !== undefined) {
    outlet.event("unable", { reason: fault });
    outlet.say(fault);
    return EXIT.usage;
  }
  const sees = shop && kits && out && { shop: resolve(shop), kits: resolve(kits), out: resolve(out) };
  const how: SubmitHow = {
    effort,
    now: now === true,
    change: change === true,
    // Who can see shop, kits and jobs fixes here what the orders mean; for all others the first worker does.
    ...(sees ? { house: { ...sees, ...(store ? { store } : {}) } } : {}),
  };
  const submitted = await withRedis(options.redis, (redis) =>
    submitOrders(redis, keysOf(options.prefix), submissions, how),
  );
  if (submitted.findings.length > 0) return refuse(submitted.findings, "Nothing was put on the queue", outlet);
  for (const each of submitted.orders) {
    outlet.event("submitted", each);
    outlet.tell(
      each.fresh
        ? `${each.order}  on the queue`
        : `${each.order}  is there already${options.now ? "; where it waits for a gang, it is made at once" : ""}`,
    );
  }
  return EXIT.done;
};
