import { type Keys, planGangs, Plans, statusOf, submitOrders } from "@kitforme/queue";
import type { Redis } from "ioredis";
import { readRules, readWaiting } from "../../../packages/queue/src/waiting.ts";
import { script } from "../../../packages/queue/src/scripts.ts";
import { type Figure, round } from "../bleed/measure.ts";

const RULES = { fill: 0.6, wait: 240, lead: 24 };
const HOUR = 3_600_000;
/** Orders of a gang that is claimed, made and answered. */
const GANG = 20;
/** Orders asked for one by one. */
const ASKED = 200;

/** Milliseconds of processor, this process's and Redis's, that `work` takes. */
const cost = async (redis: Redis, work: () => Promise<unknown>): Promise<number> => {
  const ofRedis = async (): Promise<number> => {
    const said = await redis.info("cpu");
    const of = (kind: string): number => Number(new RegExp(`used_cpu_${kind}:([\\d.]+)`).exec(said)?.[1] ?? 0);
    return (of("user") + of("sys")) * 1_000;
  };
  const [theirs, ours] = [await ofRedis(), process.cpuUsage()];
  await work();
  const { user, system } = process.cpuUsage(ours);
  return (user + system) / 1_000 + (await ofRedis()) - theirs;
};

/** What each decision takes with so many orders in the queue, ms of processor an order. */
export const decisions = async (redis: Redis, keysFor: (n: number) => Keys, count: number): Promise<Figure[]> => {
  const keys = keysFor(count);
  const P = keys.prefix;
  const names = Array.from({ length: count }, (_, i) => `L-${String(i).padStart(6, "0")}`);
  const batches = Array.from({ length: Math.ceil(count / 100) }, (_, i) => names.slice(i * 100, (i + 1) * 100));
  const figures: Figure[] = [];
  const timed = async (name: string, of: number, work: () => Promise<unknown>): Promise<void> => {
    const value = round((await cost(redis, work)) / of);
    figures.push({ name: `${name}, ${count.toLocaleString("en")} in the queue`, value, unit: "ms of processor" });
  };
  await timed("taken in, 100 a call, an order", count, async () => {
    for (const batch of batches) {
      const orders = batch.map((name) => {
        const content = { order: name, lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Aino" }] }] };
        return { name, file: `${name}.json`, text: JSON.stringify(content), content };
      });
      await submitOrders(redis, keys, orders, { effort: "quick" });
    }
  });
  await script(redis, keys, "lease", "clerk", 24 * HOUR);
  await redis.set(`${P}-rules:shop`, JSON.stringify(RULES));
  const calls = new Map<string, string>();
  for (const batch of batches)
    for (const name of batch) calls.set(name, (await redis.hget(`${P}-order:${name}`, "call")) ?? "");
  await timed("checked and waiting, an order", count, async () => {
    for (const batch of batches) {
      const all = batch.flatMap((name) => [name, calls.get(name) ?? "", "ok", "shop", "kit/tag", '{"card":0.00001}']);
      await script(redis, keys, "accept", "clerk", ...all);
      await script(redis, keys, "wait", "clerk", ...batch);
    }
  });
  await timed("what is ganged, decided over all that wait, an order", count, async () => {
    const waiting = await readWaiting(redis, keys);
    const rules = await readRules(
      redis,
      keys,
      waiting.map(({ shop }) => shop),
    );
    planGangs(waiting, (shop) => rules.get(shop), { now: Date.now(), settle: 5_000, idle: true });
    if (waiting.length !== count) throw new Error("orders that should wait do not");
  });
  const asked = names.filter((_, i) => i % Math.max(1, Math.floor(count / ASKED)) === 0).slice(0, ASKED);
  const plans = new Plans();
  await timed("where it is, asked for by name, a question", asked.length, async () => {
    for (const order of asked)
      if ((await statusOf(redis, keys, { order }, plans))[0]?.state !== "waiting")
        throw new Error(`${order} does not wait`);
  });
  await timed("where they are, a page of 100, an order of it", 100, () => statusOf(redis, keys, { limit: 100 }, plans));
  const ganged = names.slice(0, Math.min(count, 1_000));
  await timed(`ganged by ${GANG}, claimed, answered, an order`, ganged.length, async () => {
    for (let i = 0; i < ganged.length; i += GANG) {
      const gang = ganged.slice(i, i + GANG);
      const more = ["quick", "shop", "kit/tag", "fill", "filled", "orders", 1];
      const id = (await script(redis, keys, "close", "clerk", ...more, ...gang)) as string;
      const [token] = (await script(redis, keys, "begin", id, "worker")) as string[];
      const answer = JSON.stringify({ end: "made", gang: id, job: "job", folder: "job", findings: [] });
      const answers = gang.flatMap((name) => [name, "made", answer]);
      if ((await script(redis, keys, "finish", id, token as string, ...answers)) !== 1) throw new Error("no claim");
    }
  });
  return figures;
};
