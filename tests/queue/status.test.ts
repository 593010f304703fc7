// Asking for one order after another plans the gangs once, not once for each.
import { script } from "../../packages/queue/src/scripts.ts";
import { countsOf, Plans, statusOf, submitOrders } from "@kitforme/queue";
import { spawnSync } from "node:child_process";
import { expect, it, vi } from "vitest";
import { BIN } from "../support/command.ts";
import { answered } from "../support/answered.ts";
import { bench } from "../support/queue.ts";

it("waiting orders asked for one by one are planned a few times, and each says what it waits for", async () => {
  const at = bench();
  const P = at.keys.prefix;
  const names = Array.from({ length: 250 }, (_, i) => `W-${String(i).padStart(4, "0")}`);
  const all = names.map((name) => {
    const content = { order: name, lines: [{ kit: "tag", quantity: 1 }] };
    return { name, file: `${name}.json`, text: JSON.stringify(content), content };
  });
  await submitOrders(at.redis, at.keys, all, { effort: "quick" });
  const call = (await at.redis.hget(`${P}-order:${names[0]}`, "call")) ?? "";
  await script(at.redis, at.keys, "lease", "clerk", 60_000);
  const checked = names.flatMap((name) => [name, call, "ok", "shop", "kit/tag", '{"card":0.001}']);
  expect(await script(at.redis, at.keys, "accept", "clerk", ...checked)).toBe(250);
  expect(await script(at.redis, at.keys, "wait", "clerk", ...names)).toBe(250);
  await at.redis.set(`${P}-rules:shop`, JSON.stringify({ fill: 0.6, wait: 240, lead: 24 }), "PX", 60_000);

  const reads = vi.spyOn(at.redis, "zrange");
  const before = performance.now();
  const plans = new Plans();
  for (const name of names) {
    const [status] = await statusOf(at.redis, at.keys, { order: name }, plans);
    expect(status).toMatchObject({ order: name, state: "waiting", waits: { sheets: 0.35 } });
  }
  const planned = () => reads.mock.calls.filter(([key]) => key === `${P}-in:waiting`).length;
  // One a half second, however long the asking takes on a busy machine.
  expect(planned()).toBeLessThanOrEqual(1 + Math.ceil((performance.now() - before) / 500));
  // Who has only just begun to wait is planned for soon, and says it then.
  expect(
    (await statusOf(at.redis, at.keys, { states: ["waiting"], limit: 10, skip: 240 }, plans)).map((s) => s.order),
  ).toEqual(names.slice(240));

  // The same order again, to be made at once: it stays what it is, and does not wait any more.
  const again = await submitOrders(at.redis, at.keys, all.slice(0, 1), { effort: "quick", now: true });
  expect(again).toEqual({ findings: [], orders: [{ order: names[0], fresh: false }] });
  expect(await at.redis.hmget(`${P}-order:${names[0]}`, "state", "now")).toEqual(["waiting", "1"]);
  expect(await at.redis.hget(`${P}-order:${names[1]}`, "now")).toBe("");
});

/** Seconds of this process's processor that something takes. */
const processor = async (work: () => Promise<unknown>): Promise<number> => {
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
};

it("where 20,000 orders are is said within two seconds of processor, a page of them within a tenth, and into a pipe that is shut", async () => {
  const at = bench();
  const names = Array.from({ length: 20_000 }, (_, i) => `N-${String(i).padStart(5, "0")}`);
  for (let i = 0; i < names.length; i += 1_000) {
    const all = names.slice(i, i + 1_000).map((name) => {
      const content = { order: name, lines: [{ kit: "tag", quantity: 1 }] };
      return { name, file: `${name}.json`, text: JSON.stringify(content), content };
    });
    await submitOrders(at.redis, at.keys, all, { effort: "quick" });
  }
  await answered(at, ...names.slice(0, 100));
  expect((await countsOf(at.redis, at.keys)).counts).toMatchObject({ received: 19_900, made: 100 });
  // Once each before it is measured: the first call compiles.
  const page = () => statusOf(at.redis, at.keys, { limit: 100, skip: 50 });
  expect((await page()).map(({ state }) => state)).toEqual([
    ...Array.from({ length: 50 }, () => "made"),
    ...Array.from({ length: 50 }, () => "received"),
  ]);
  const pages = await processor(async () => {
    for (let n = 0; n < 5; n++) await page();
  });
  expect(pages / 5).toBeLessThan(0.1);
  const one = await processor(() => statusOf(at.redis, at.keys, { order: "N-12345" }));
  expect(one).toBeLessThan(0.05);
  let all: string[] = [];
  const whole = await processor(async () => void (all = (await statusOf(at.redis, at.keys)).map(({ order }) => order)));
  expect(all).toEqual(names);
  expect(whole).toBeLessThan(2); // it took 3.4 s before pages and batches
  // Whoever reads the first line and goes is no fault of the command's.
  const command = [process.execPath, BIN, "status", ...at.queue].map((word) => `'${word}'`).join(" ");
  const { stdout, stderr } = spawnSync("sh", ["-c", `{ ${command}; echo "ended $?" >&2; } | head -n 1`], {
    encoding: "utf8",
  });
  expect(stdout).toMatch(/^N-00000 {2}made: /);
  expect(stdout.trim().split("\n").length).toBe(1);
  expect(stderr.trim().split("\n")).toEqual(["19900 received; 100 made", "ended 0"]);
});
