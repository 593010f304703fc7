// Asking for one order after another plans the gangs once, not once for each.
import { script } from "../../packages/queue/src/scripts.ts";
import { Plans, statusOf, submitOrders } from "@kitforme/queue";
import { expect, it, vi } from "vitest";
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
