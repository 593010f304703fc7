// The life of an order as a model, against a real Redis: random lives of a few orders, in which a process may die, or sleep and
// wake up much later, or lose its connection, before and after any of its steps. Jobs are folders with a job.json and nothing else, so that thousands of
// lives are lived. A short form here; KITFORME_MODEL=long has more and longer ones.
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { mkdir, writeFile } from "node:fs/promises";
import { createHash } from "node:crypto";
import { tmpdir } from "node:os";
import { join } from "node:path";
import fc from "fast-check";
import { Redis } from "ioredis";
import { expect, inject, it, onTestFinished } from "vitest";
import { FailedRun } from "../../packages/run/src/index.ts";
import { attemptGang } from "../../packages/queue/src/attempt.ts";
import { cancelOrder, retryOrder } from "../../packages/queue/src/change.ts";
import type { Context } from "../../packages/queue/src/context.ts";
import { HouseMemory } from "../../packages/queue/src/house-memory.ts";
import type { MakeTask } from "../../packages/queue/src/jobs/tasks.ts";
import { ENDS, type Keys, keysOf, type State, STATES } from "../../packages/queue/src/keys.ts";
import { attemptsIn, shopOf } from "../../packages/queue/src/places.ts";
import { script } from "../../packages/queue/src/scripts.ts";
import { statusOf } from "../../packages/queue/src/status.ts";
import { submitOrders } from "../../packages/queue/src/submit.ts";
import { sweepAttempts } from "../../packages/queue/src/sweep.ts";
import { readWaiting } from "../../packages/queue/src/waiting.ts";
import { changesAfter } from "../../packages/queue/src/watch.ts";

const LONG = process.env["KITFORME_MODEL"] === "long";
const SEED = Number(process.env["KITFORME_SEED"] ?? 1);
const LIVES = LONG ? 3_000 : 40;

/** What may follow what. A state that is not named here never changes by itself or by anybody. */
const NEXT: Readonly<Record<State, readonly State[]>> = {
  received: ["checked", "refused", "failed", "cancelled", "received"],
  checked: ["waiting", "ganged", "cancelled", "received"],
  waiting: ["ganged", "cancelled", "received"],
  ganged: ["making"],
  making: ["ganged", "made", "refused", "failed"],
  made: [],
  refused: ["received", "cancelled"],
  failed: ["checked", "received", "cancelled"],
  cancelled: ["received", "cancelled"],
};

/** What happens to a process at a step, before or after its work: nothing, death, a sleep, or Redis does not answer. */
interface Fate {
  readonly how: "well" | "dies" | "sleeps" | "fails";
  readonly step: number;
}

type Act =
  | {
      readonly act: "submit";
      readonly order: number;
      readonly kind: "good" | "bad" | "broken";
      readonly change: boolean;
    }
  | { readonly act: "check"; readonly refuse: number }
  | { readonly act: "gang"; readonly orders: readonly number[] }
  /** A new order, checked and ganged with all that wait. */
  | { readonly act: "bring"; readonly order: number }
  | { readonly act: "attempt"; readonly slot: number; readonly gang: number; readonly fate: Fate }
  | { readonly act: "wake" | "kill"; readonly slot: number }
  | { readonly act: "cancel" | "retry"; readonly order: number }
  | { readonly act: "forget scripts" };

const ORDERS = 5;
const SLOTS = 3;
const order = fc.nat(ORDERS - 1);
const slot = fc.nat(SLOTS - 1);
const fate: fc.Arbitrary<Fate> = fc.record({
  how: fc.constantFrom("well" as const, "dies" as const, "sleeps" as const, "sleeps" as const, "fails" as const),
  step: fc.nat(9),
});
const acts: fc.Arbitrary<Act>[] = [
  fc.record({
    act: fc.constant("submit" as const),
    order,
    kind: fc.constantFrom("good" as const, "good" as const, "bad" as const, "broken" as const),
    change: fc.boolean(),
  }),
  fc.record({ act: fc.constant("check" as const), refuse: fc.nat(4 * ORDERS) }),
  fc.record({ act: fc.constant("gang" as const), orders: fc.uniqueArray(order, { minLength: 1 }) }),
  fc.record({ act: fc.constant("attempt" as const), slot, gang: fc.nat(), fate }),
  fc.record({ act: fc.constantFrom("wake" as const, "kill" as const), slot }),
  fc.record({ act: fc.constantFrom("cancel" as const, "retry" as const), order }),
  fc.constant({ act: "forget scripts" as const }),
  fc.record({ act: fc.constant("bring" as const), order }),
];
const life = fc.array(
  fc.oneof(
    { arbitrary: acts[0] as fc.Arbitrary<Act>, weight: 4 },
    { arbitrary: acts[1] as fc.Arbitrary<Act>, weight: 4 },
    { arbitrary: acts[2] as fc.Arbitrary<Act>, weight: 4 },
    { arbitrary: acts[3] as fc.Arbitrary<Act>, weight: 16 },
    { arbitrary: acts[4] as fc.Arbitrary<Act>, weight: 3 },
    { arbitrary: acts[5] as fc.Arbitrary<Act>, weight: 2 },
    { arbitrary: acts[6] as fc.Arbitrary<Act>, weight: 1 },
    { arbitrary: acts[7] as fc.Arbitrary<Act>, weight: 6 },
  ),
  { minLength: 10, maxLength: LONG ? 80 : 40 },
);

const CLOSED = "Connection is closed.";
const never = new Promise<never>(() => undefined);

/** A worker's process, as far as its claims and folders go. What it asks of Redis goes through a gate that its fate may shut. */
class Process {
  readonly at: Context;
  /** Sleeps in the midst of an attempt. */
  asleep: (() => void) | undefined;
  dead = false;
  running: Promise<unknown> | undefined;
  #fate: Fate = { how: "well", step: 0 };
  #step = 0;
  #shut: (() => void) | undefined;

  constructor(redis: Redis, keys: Keys, out: string, holder: string) {
    const gated = new Proxy(redis, {
      get: (target, name) => {
        const value = Reflect.get(target, name, target) as unknown;
        if (typeof value !== "function") return value;
        const call = (...args: unknown[]) => (value as (...all: unknown[]) => unknown).apply(target, args);
        if (typeof name !== "string" || !/^(kitforme:|hget$|hmget$)/.test(name)) return call;
        return async (...args: unknown[]) => {
          await this.#pass();
          const answer = await call(...args);
          await this.#pass();
          return answer;
        };
      },
    });
    const threads = { run: async (task: MakeTask) => this.#job(task) };
    const guard = { trip: () => undefined, pauses: false, trouble: undefined, has: () => false };
    const settings = { shop: "", kits: "", out, concurrency: 1, grace: 0, firstWait: 1 };
    this.at = {
      redis: gated,
      keys,
      settings,
      events: {},
      threads,
      guard,
      memory: new HouseMemory(),
      holder,
    } as unknown as Context;
  }

  /** Until the attempt has ended, or this process is dead or asleep. */
  async attempt(id: string, fate: Fate): Promise<void> {
    this.#fate = fate;
    this.#step = 0;
    const shut = new Promise<void>((resolve) => (this.#shut = resolve));
    const signal = new AbortController().signal;
    // What Redis did not answer at the wrong moment is thrown: the queue then gives the gang to the next.
    this.running = attemptGang(this.at, { id, lane: "orders" }, signal, signal).catch((error: Error) => {
      if (error.message !== CLOSED) throw error;
    });
    await Promise.race([this.running, shut]);
  }

  /** Goes on where it was. */
  async wake(): Promise<void> {
    const { asleep } = this;
    if (this.dead || !asleep) return;
    this.asleep = undefined;
    this.#fate = { how: "well", step: 0 };
    asleep();
    await this.running;
  }

  async #pass(): Promise<void> {
    if (this.dead) return never;
    if (this.#fate.how === "well" || this.#step++ !== this.#fate.step) return;
    if (this.#fate.how === "fails") {
      this.#fate = { how: "well", step: 0 };
      throw new Error(CLOSED);
    }
    if (this.#fate.how === "dies") this.dead = true;
    const gate = this.dead ? never : new Promise<void>((resolve) => (this.asleep = resolve));
    this.#shut?.();
    await gate;
  }

  /** The job: equal orders give equal bytes under the same name. An order may be at fault, or meet a bug of ours. */
  async #job({ orders, into }: MakeTask) {
    await this.#pass();
    const said = orders.map((o) => ({ name: o.name, kind: (JSON.parse(o.text) as { kind: string }).kind }));
    if (said.some((o) => o.kind === "broken")) throw new FailedRun({ kind: "ours", message: "a bug of ours" });
    const good = said.filter((o) => o.kind === "good").map((o) => o.name);
    const refused = said.filter((o) => o.kind === "bad").map((o) => ({ order: o.name, findings: [] }));
    if (good.length === 0) return { refused };
    await mkdir(into, { recursive: true });
    const text = JSON.stringify({ orders: good });
    await this.#pass();
    await writeFile(join(into, "job.json"), text);
    await writeFile(join(into, "attempt"), into);
    await this.#pass();
    const job = `k${createHash("sha256").update(text).digest("hex").slice(0, 12)}`;
    return { refused, made: { job, orders: good, findings: [], sheets: 1, layouts: 1, yield: 1 } };
  }
}

it("no death and no sleep, wherever it comes, makes an order twice, loses it or tells an untruth of it", {
  timeout: LONG ? 3600_000 : 120_000,
}, async () => {
  const redis = new Redis(inject("redisUrl"), { maxRetriesPerRequest: null });
  onTestFinished(() => redis.disconnect());
  let lives = 0;
  const seen = new Set<State>();
  const check = fc.asyncProperty(life, async (all) => {
    const keys = keysOf(`model-${process.pid}-${++lives}`);
    const out = mkdtempSync(join(tmpdir(), "kitforme-model-"));
    try {
      for (const state of await live(redis, keys, out, all)) seen.add(state);
    } finally {
      const left = await redis.keys(`${keys.prefix}*`);
      if (left.length > 0) await redis.del(...left);
      rmSync(out, { recursive: true, force: true });
    }
  });
  await fc.assert(check, { numRuns: LIVES, seed: SEED, endOnFailure: !LONG });
  expect(seen, "every state has been lived").toEqual(new Set(STATES));
});

/** Lives one life; gives the states that orders were in. */
const live = async (redis: Redis, keys: Keys, out: string, all: readonly Act[]): Promise<Set<State>> => {
  mkdirSync(shopOf(out, "shop"), { recursive: true });
  const P = keys.prefix;
  let holders = 0;
  const fresh = () => new Process(redis, keys, out, `p${++holders}`);
  const slots = Array.from({ length: SLOTS }, fresh);
  const stateOf = async (name: string) =>
    ((await redis.hget(`${P}-order:${name}`, "state")) ?? undefined) as State | undefined;
  const made = new Map<string, string>();
  const attempts = new Map<string, string>();
  const gangs = () => redis.zrange(`${P}-gangs`, "0", "-1");
  const toGang = async () => (await readWaiting(redis, keys)).map((one) => one.name);
  const clerk = () => script(redis, keys, "lease", "clerk", 60_000);

  const checkAll = async (refuse = -1): Promise<void> => {
    await clerk();
    const names = await redis.zrange(`${P}-in:received`, "0", "-1");
    for (const [i, name] of names.entries()) {
      const call = (await redis.hget(`${P}-order:${name}`, "call")) ?? "";
      const answer = JSON.stringify({ end: "refused", gang: "", findings: [] });
      const args = i === refuse ? ["refused", "", "", answer] : ["ok", "shop", "kit/one", '{"card":0.3}'];
      expect(await script(redis, keys, "accept", "clerk", name, call, ...args)).toBe(1);
      expect(await stateOf(name)).toBe(i === refuse ? "refused" : "checked");
      // Some go at once, others are known to wait.
      if (i % 2 === 0) await script(redis, keys, "wait", "clerk", name);
    }
  };
  const close = async (names: readonly string[]): Promise<unknown> => {
    await clerk();
    return script(redis, keys, "close", "clerk", "quick", "shop", "kit/one", "wait", "why", "orders", 1, ...names);
  };

  /** What must hold at any time. */
  const look = async (): Promise<void> => {
    const status = await statusOf(redis, keys);
    for (const { order: name, state, answer } of status) {
      expect(answer?.end, `the answer of ${name}, which is ${state}`).toBe(
        ENDS.includes(state) && state !== "cancelled" ? state : undefined,
      );
      const before = made.get(name);
      if (before !== undefined) expect(state, `${name} was made before`).toBe("made");
      if (answer?.end !== "made") continue;
      const by = readFileSync(join(answer.folder, "attempt"), "utf8");
      if (before !== undefined) expect(answer.folder).toBe(before);
      expect(by, "the attempt that the folder is of").toBe(attempts.get(answer.folder) ?? by);
      attempts.set(answer.folder, by);
      made.set(name, answer.folder);
      const job = JSON.parse(readFileSync(join(answer.folder, "job.json"), "utf8")) as { orders: string[] };
      expect(job.orders).toContain(name);
    }
    // A frozen kit is kept as long as an order needs it: those that are open from their check on, and those that failed.
    const held = status.filter(({ state }) => ["checked", "waiting", "ganged", "making"].includes(state)).length;
    const kept = Number((await redis.hget(`${P}-frozen`, "kit/one")) ?? 0);
    const failed = status.filter(({ state }) => state === "failed").length;
    expect(kept).toBeGreaterThanOrEqual(held);
    expect(kept).toBeLessThanOrEqual(held + failed + status.filter(({ state }) => state === "received").length);
    const open = (await redis.zrange(`${P}-open`, "0", "-1")).sort();
    expect(open).toEqual(status.filter(({ state }) => !ENDS.includes(state)).map((s) => s.order));
  };

  for (const act of all) {
    switch (act.act) {
      case "submit": {
        const name = `O-${act.order}`;
        const before = await stateOf(name);
        const content = { order: name, kind: act.kind };
        const known = await redis.hget(`${P}-order:${name}`, "digest");
        const { orders, findings } = await submitOrders(
          redis,
          keys,
          [{ name, file: `${name}.json`, text: JSON.stringify(content), content }],
          { effort: "quick", change: act.change },
        );
        const digest = await redis.hget(`${P}-order:${name}`, "digest");
        const anew = before === undefined || ["refused", "failed", "cancelled"].includes(before);
        if (anew) expect(orders).toEqual([{ order: name, fresh: true }]);
        else if (findings.length > 0) {
          // Other content, and not to be changed any more, or not asked to be.
          expect(act.change && ["received", "checked", "waiting"].includes(before)).toBe(false);
          expect([digest, await stateOf(name)]).toEqual([known, before]);
        } else expect(orders[0]?.fresh).toBe(digest !== known);
        break;
      }
      case "check":
        await checkAll(act.refuse);
        break;
      case "gang": {
        const names = act.orders.map((n) => `O-${n}`);
        const states = await Promise.all(names.map(stateOf));
        const id = await close(names);
        const good = states.every((state) => state === "checked" || state === "waiting");
        expect(typeof id === "string").toBe(good);
        expect(await Promise.all(names.map(stateOf))).toEqual(good ? names.map(() => "ganged") : states);
        break;
      }
      case "bring": {
        const name = `O-${act.order}`;
        const content = { order: name, kind: "good" };
        const one = { name, file: `${name}.json`, text: JSON.stringify(content), content };
        await submitOrders(redis, keys, [one], { effort: "quick" });
        await checkAll();
        const waiting = await toGang();
        if (waiting.length > 0) expect(typeof (await close(waiting))).toBe("string");
        break;
      }
      case "attempt": {
        const ids = await gangs();
        const one = slots[act.slot] as Process;
        if (ids.length === 0 || one.asleep) break;
        const process = one.dead ? (slots[act.slot] = fresh()) : one;
        await process.attempt(ids[act.gang % ids.length] as string, act.fate);
        break;
      }
      case "wake":
        await slots[act.slot]?.wake();
        break;
      case "kill":
        (slots[act.slot] as Process).dead = true;
        slots[act.slot] = fresh();
        break;
      case "cancel": {
        const name = `O-${act.order}`;
        const before = await stateOf(name);
        const can = before !== undefined && !["ganged", "making", "made", "cancelled"].includes(before);
        expect(await cancelOrder(redis, keys, name)).toBe(can ? "cancelled" : before);
        expect(await stateOf(name)).toBe(can ? "cancelled" : before);
        break;
      }
      case "retry": {
        const name = `O-${act.order}`;
        const before = await stateOf(name);
        expect(await retryOrder(redis, keys, name)).toBe(before === "failed" ? "again" : before);
        break;
      }
      case "forget scripts":
        await redis.script("FLUSH");
    }
    await look();
  }

  // Morning: those who slept wake up, the rest is done by processes that live.
  for (const process of slots) await process.wake();
  await look();
  await checkAll();
  const waiting = await toGang();
  if (waiting.length > 0) await close(waiting);
  for (let tries = 0; (await gangs()).length > 0; tries++) {
    expect(tries, "attempts until all is done").toBeLessThan(20);
    for (const id of await gangs()) await fresh().attempt(id, { how: "well", step: 0 });
    await look();
  }
  const status = await statusOf(redis, keys);
  for (const { order: name, state } of status) expect(ENDS, `${name} is ${state}`).toContain(state);
  const folders = readdirSync(out).filter((name) => !name.startsWith("."));
  expect(new Set(folders.map((name) => join(out, name)))).toEqual(new Set(made.values()));
  const times = folders.flatMap(
    (name) => (JSON.parse(readFileSync(join(out, name, "job.json"), "utf8")) as { orders: string[] }).orders,
  );
  expect(times.sort(), "each made order is in one folder").toEqual([...made.keys()].sort());
  await sweepAttempts(redis, keys, out);
  expect(existsSync(attemptsIn(out)) ? readdirSync(attemptsIn(out)) : []).toEqual([]);

  const gangKeys = (await redis.keys(`${P}-*`)).filter((key) => /-(gang|kills|share|offers):/.test(key));
  expect(gangKeys, "gangs that have ended leave nothing").toEqual([]);

  const last = new Map<string, State>();
  const seen = new Set<State>();
  for (const { order: name, state } of await changesAfter(redis, keys, "0")) {
    const before = last.get(name);
    if (before === undefined) expect(state).toBe("received");
    else expect(NEXT[before], `${name}: ${before}, then ${state}`).toContain(state);
    last.set(name, state);
    seen.add(state);
  }
  return seen;
};
