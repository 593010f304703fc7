// Workers that are stopped, killed or cut off from Redis; the commands as a user runs them.
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { hashes, kitforme } from "../support/command.ts";
import { type Bench, bench, doorTo, until, workHere, workThere } from "../support/queue.ts";

// Long enough to be caught in the midst of: a hundred names are shaped and laid out for some seconds.
const long = (at: Bench, name = "Q-L") =>
  at.order(
    name,
    Array.from({ length: 100 }, (_, i) => `Boat ${i}`),
  );

const oneJob = (at: Bench): string => {
  expect(at.jobs().length).toBe(1);
  return join(at.out, at.jobs()[0] as string);
};

describe("the commands", () => {
  it("submit, work and status take an order through, and keep its words out of the log", async () => {
    const at = bench();
    const port = (await doorTo(at.url)).port + 1;
    const submitted = await kitforme([
      "submit",
      "--json",
      "--effort",
      "quick",
      ...at.queue,
      at.order("Q-1", ["Solveig"]),
    ]);
    expect(submitted.code).toBe(0);
    expect(submitted.events).toMatchObject([
      { event: "submitted", order: "Q-1", fresh: true },
      { event: "end", end: "done", exit: 0 },
    ]);
    const worker = await workThere(at, "--health", String(port));
    const health = await until("health", async () => {
      const answer = await fetch(`http://127.0.0.1:${port}/health`);
      return answer.status === 200 ? answer.text() : undefined;
    });
    expect(health).toBe("ready\n");
    await at.ended("Q-1");
    await until("the count", async () =>
      (await (await fetch(`http://127.0.0.1:${port}/metrics`)).text()).includes('kitforme_orders_total{end="made"} 1'),
    );
    const metrics = await (await fetch(`http://127.0.0.1:${port}/metrics`)).text();
    expect(metrics).toContain('kitforme_orders{state="made"} 1');
    expect(metrics).toMatch(/^kitforme_oldest_order_seconds 0$/m);
    expect(await (await fetch(`http://127.0.0.1:${port}/live`)).text()).toBe("live\n");
    expect(await worker.stop()).toBe(0);
    const lines = worker
      .log()
      .trim()
      .split("\n")
      .map((line) => JSON.parse(line) as { msg: string; step?: string; orders?: string[]; gang?: string });
    // One line a step, each with the order; its job from the moment there is one. Seconds, but no words of a buyer's.
    const steps = lines.filter((l) => l.msg === "step");
    const names = ["check", "gang", "claim", "read", "prepare", "layout", "write", "publish"];
    expect(steps.map((l) => l.step)).toEqual(names);
    for (const { orders } of steps) expect(orders).toEqual(["Q-1"]);
    const job = at.jobs()[0];
    expect(steps.at(-1)).toMatchObject({ job, gang: steps[1]?.gang, sheets: 2, layouts: 2 });
    expect(lines.find((l) => l.msg === "order ended")).toMatchObject({ order: "Q-1", end: "made", job });
    expect(metrics).toContain('kitforme_stage_seconds_count{stage="write"} 1');
    expect(metrics).toContain("kitforme_sheets_total 2");
    expect(worker.log()).not.toContain("Solveig");
    const status = await kitforme(["status", "--json", ...at.queue, "Q-1"]);
    expect(status.code).toBe(0);
    expect(status.events).toMatchObject([
      { event: "order", order: "Q-1", state: "made", answer: { folder: oneJob(at) } },
      { event: "end", end: "done", exit: 0 },
    ]);
    expect((await kitforme(["status", ...at.queue, "Q-404"])).code).toBe(1);
  });

  it("say at once that Redis is away, and not its password", async () => {
    const at = bench();
    const door = await doorTo(at.url);
    await door.shut();
    const away = ["--redis", `redis://:secret@127.0.0.1:${door.port}`];
    for (const args of [
      ["submit", ...away, at.order("Q-1", ["Solveig"])],
      ["status", ...away],
    ]) {
      const said = await kitforme(args);
      expect(said.code).toBe(3);
      expect(said.err).toMatch(/cannot be reached \(.*ECONNREFUSED/);
      expect(said.err).not.toContain("report");
      expect(said.err + said.out).not.toContain("secret");
      expect(said.seconds).toBeLessThan(30); // start of the command on a busy machine; one that waits never ends
    }
  });
});

it("addresses that are none are wrong usage", async () => {
  for (const args of [
    ["status", "--redis", "nonsense"],
    ["status", "--redis", "http://127.0.0.1:6379"],
    ["work", "--shop", "s", "--kits", "k", "--out", "o", "--health", "here"],
    ["work", "--shop", "s", "--kits", "k", "--out", "o", "--health", "127.0.0.1:70000"],
  ]) {
    const said = await kitforme(args);
    expect(said.code, args.join(" ")).toBe(2);
    expect(said.err).toContain("It is to read");
  }
});

describe("a worker", () => {
  it("told to stop finishes what it holds and leaves what waits", async () => {
    const at = bench();
    await at.submit(long(at));
    // As long as the first: large orders have a lane of their own, and a small one would be made beside it.
    await at.submit(long(at, "Q-2"));
    const worker = await workThere(at);
    await at.midst("Q-L");
    expect(await worker.stop()).toBe(0);
    expect((await at.status("Q-L"))?.state).toBe("made");
    expect(["received", "checked", "waiting", "ganged"]).toContain((await at.status("Q-2"))?.state);
    oneJob(at);
  });

  it("without grace hands back what it holds, to the next that comes", async () => {
    const at = bench();
    const file = long(at);
    await at.submit(file);
    const first = await workThere(at, "--grace", "0");
    await at.midst("Q-L");
    expect(await first.stop()).toBe(0);
    expect((await at.status("Q-L"))?.state).toBe("ganged");
    expect(at.jobs()).toEqual([]);
    workHere(at);
    expect((await at.ended("Q-L"))[0]?.state).toBe("made");
    expect(hashes(oneJob(at))).toEqual(await at.madeAlone(file));
  });

  it("takes up within 15 s what a killed one held, both as the command starts them, to the same bytes", async () => {
    const at = bench();
    const file = long(at);
    await at.submit(file);
    const first = await workThere(at, "--grace", "0");
    await at.midst("Q-L");
    const gang = `${at.keys.prefix}-gang:${(await at.status("Q-L"))?.gang}`;
    const token = await at.redis.hget(gang, "token");
    expect(await first.stop("SIGKILL")).toBeNull();
    const killed = performance.now();
    expect(at.jobs()).toEqual([]);
    expect((await at.status("Q-L"))?.state).toBe("making"); // nobody has told the queue
    const second = await workThere(at);
    await until("another to take it", async () => (await at.redis.hget(gang, "token")) !== token);
    expect((performance.now() - killed) / 1_000, "seconds").toBeLessThan(15);
    expect((await at.ended("Q-L"))[0]?.state).toBe("made");
    expect(await second.stop()).toBe(0);
    expect(hashes(oneJob(at))).toEqual(await at.madeAlone(file));
    expect(readdirSync(oneJob(at)).filter((name) => name.startsWith("."))).toEqual([]);
  });

  it("waits for a Redis that is away, says so on its health address, and ends when told to all the same", async () => {
    const at = bench();
    const door = await doorTo(at.url);
    const port = door.port + 1;
    const health = async () => (await fetch(`http://127.0.0.1:${port}/health`)).status;
    await door.shut();
    const worker = await workThere(at, "--redis", door.url, "--health", String(port), "--grace", "0");
    expect(await health()).toBe(503);
    await at.submit(at.order("Q-1", ["Solveig"]));
    await door.open();
    expect((await at.ended("Q-1"))[0]?.state).toBe("made");
    expect(await health()).toBe(200);
    await door.shut();
    await until("the worker to miss it", async () => (await health()) === 503);
    await door.open();
    await until("the worker to find it again", async () => (await health()) === 200);
    await at.submit(long(at));
    await at.midst("Q-L");
    await door.shut();
    await until("the worker to miss it again", async () => (await health()) === 503);
    expect(await worker.stop()).toBe(3); // it cannot hand back: its lock runs out instead
    expect(worker.log()).toContain("Redis is away");
  });
});
