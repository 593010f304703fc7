// The queue against a real Redis: what is put on it is made, once, whatever happens to the workers.
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, afterEach, beforeEach, describe, expect, inject, it } from "vitest";
import { BIN, type Ended, hashes, kitforme } from "../support/command.ts";
import { type SmallShop, smallShop } from "../support/small-shop.ts";

const redis = inject("redisUrl");
const root = mkdtempSync(join(tmpdir(), "kitforme-queue-"));
afterAll(() => rmSync(root, { recursive: true, force: true }));

let number = 0;
let shop: SmallShop;
let queue: string[];
const workers = new Set<ChildProcess>();

beforeEach(() => {
  number++;
  shop = smallShop(join(root, `shop-${number}`));
  queue = ["--redis", redis, "--prefix", `test-${process.pid}-${number}`];
});

// A worker left running is a fault of its own: every test stops its workers and this looks whether they have gone.
afterEach(() => {
  const left = [...workers].filter((w) => w.exitCode === null && w.signalCode === null);
  for (const worker of left) worker.kill("SIGKILL");
  workers.clear();
  expect(left.map((w) => w.pid)).toEqual([]);
});

const submit = (...orders: string[]): Promise<Ended> =>
  kitforme(["submit", "--json", "--effort", "quick", ...queue, ...orders]);
const status = (...order: string[]): Promise<Ended> => kitforme(["status", "--json", ...queue, ...order]);

const until = async <T>(what: string, look: () => Promise<T | undefined> | T | undefined, seconds = 60): Promise<T> => {
  for (const end = Date.now() + seconds * 1000; Date.now() < end; await new Promise((r) => void setTimeout(r, 100))) {
    const seen = await look();
    if (seen !== undefined) return seen;
  }
  throw new Error(`waited ${seconds} s for: ${what}`);
};

const states = async (): Promise<Record<string, string>> =>
  Object.fromEntries((await status()).events.map((e) => [e["order"] as string, e["state"] as string]));
const ended = (...orders: string[]) =>
  until(`${orders.join(", ")} to end`, async () => {
    const now = await states();
    return orders.every((o) => ["made", "refused", "failed"].includes(now[o] ?? "")) ? now : undefined;
  });

interface Running {
  readonly child: ChildProcess;
  readonly log: () => string;
  stop(signal?: NodeJS.Signals): Promise<number | null>;
}

const work = async (...more: string[]): Promise<Running> => {
  const child = spawn(
    process.execPath,
    [BIN, "work", "--json", "--shop", shop.shop, "--kits", shop.kits, "--out", shop.out, ...queue, ...more],
    { stdio: ["ignore", "pipe", "pipe"] },
  );
  workers.add(child);
  let said = "";
  for (const stream of [child.stdout, child.stderr]) stream?.on("data", (data: Buffer) => (said += data.toString()));
  const gone = new Promise<number | null>((resolve) => child.once("exit", resolve));
  await until("the worker to take orders", () => (said.includes("taking orders") ? true : undefined));
  return {
    child,
    log: () => said,
    async stop(signal = "SIGTERM") {
      child.kill(signal);
      return gone;
    },
  };
};

/** Folders of finished jobs. */
const jobs = (): string[] =>
  existsSync(shop.out) ? readdirSync(shop.out).filter((name) => existsSync(join(shop.out, name, "job.json"))) : [];

describe("the queue", () => {
  it("makes the orders of one submission as one job, the same bytes as `make`", async () => {
    const [a, b] = [shop.order("Q-1", ["Solveig", "Aino"]), shop.order("Q-2", ["Чайка"])];
    expect((await submit(a, b)).code).toBe(0);
    expect(await states()).toEqual({ "Q-1": "waiting", "Q-2": "waiting" });
    const worker = await work();
    expect(await ended("Q-1", "Q-2")).toEqual({ "Q-1": "made", "Q-2": "made" });
    expect(await worker.stop()).toBe(0);
    const [job] = jobs() as [string];
    expect(jobs().length).toBe(1);
    const [{ answer }] = (await status("Q-2")).events as [{ answer: { folder: string } }];
    expect(answer.folder).toBe(join(shop.out, job));
    const made = join(shop.root, "made");
    expect(
      (await kitforme(["make", "--effort", "quick", "--shop", shop.shop, "--kits", shop.kits, "--out", made, a, b]))
        .code,
    ).toBe(0);
    expect(hashes(join(shop.out, job))).toEqual(hashes(made));
    // Names of buyers' boats are nobody's business in a log.
    expect(worker.log()).not.toMatch(/Solveig|Aino|Чайка/);
  });

  it("makes the same order once, and refuses it with other content", async () => {
    const order = shop.order("Q-1", ["Solveig"]);
    await submit(order);
    expect((await submit(order)).events).toMatchObject([{ event: "submitted", order: "Q-1", fresh: false }]);
    const worker = await work();
    await ended("Q-1");
    expect((await submit(order)).events).toMatchObject([{ fresh: false }]);
    const changed = await submit(shop.order("Q-1", ["Aino"]));
    expect(changed.code).toBe(1);
    expect(changed.events).toMatchObject([{ event: "finding", rule: "order-changed", where: { order: "Q-1" } }]);
    // An order that comes with one already made is made by itself.
    await submit(order, shop.order("Q-9", ["Frøya"]));
    await ended("Q-9");
    expect(jobs().length).toBe(2);
    await worker.stop();
  });

  it("answers a fault of the input with its findings, untried again, and makes the others", async () => {
    await submit(shop.order("Q-1", ["Solveig"]), shop.order("Q-2", ["x"], { kit: "boat" }));
    const worker = await work();
    expect(await ended("Q-1", "Q-2")).toEqual({ "Q-1": "made", "Q-2": "refused" });
    const [{ answer }] = (await status("Q-2")).events as [{ answer: { findings: { rule: string; level: string }[] } }];
    expect(answer.findings.filter((f) => f.level === "error").map((f) => f.rule)).toContain("kit-unknown");
    await submit(shop.order("Q-3", ["y"], { kit: "ship" }));
    expect(await ended("Q-3")).toMatchObject({ "Q-3": "refused" });
    expect(worker.log()).not.toContain("trying again");
    // Mended, it may come again under its own name.
    expect((await submit(shop.order("Q-2", ["Sæbjørg"]))).code).toBe(0);
    await until("the mended order", async () => ((await states())["Q-2"] === "made" ? true : undefined));
    await worker.stop();
  });

  it("tries again after bad weather on the disk", async () => {
    writeFileSync(shop.out, "a file where the folder of jobs should be");
    await submit(shop.order("Q-1", ["Solveig"]));
    const worker = await work();
    await until("a failed attempt", () => (worker.log().includes("trying again") ? true : undefined));
    expect((await states())["Q-1"]).not.toBe("failed");
    rmSync(shop.out);
    expect(await ended("Q-1")).toEqual({ "Q-1": "made" });
    await worker.stop();
  });

  it("hands back what it holds when there is no grace, and another worker makes it", async () => {
    await submit(shop.order("Q-1", ["Solveig", "Aino", "Frøya"]));
    const first = await work("--grace", "0");
    await until("the job to be active", async () => ((await states())["Q-1"] === "active" ? true : undefined));
    expect(await first.stop()).toBe(0);
    const after = (await states())["Q-1"];
    expect(["waiting", "made"]).toContain(after);
    const second = await work();
    expect(await ended("Q-1")).toEqual({ "Q-1": "made" });
    await second.stop();
    expect(jobs().length).toBe(1);
  });

  it("does again what a killed worker held", async () => {
    await submit(shop.order("Q-1", ["Solveig", "Aino"]));
    const first = await work();
    await until("the job to be active", async () => ((await states())["Q-1"] === "active" ? true : undefined));
    await first.stop("SIGKILL");
    if (jobs().length > 0) return; // it was quicker than the kill; the bytes are there already
    const second = await work();
    expect(await ended("Q-1")).toEqual({ "Q-1": "made" });
    await second.stop();
    expect(jobs().length).toBe(1);
    expect(readdirSync(join(shop.out, jobs()[0] as string)).filter((n) => n.startsWith("."))).toEqual([]);
  });

  it("answers on its health address and counts orders", async () => {
    const port = 20_000 + (process.pid % 20_000);
    const worker = await work("--health", String(port));
    await until("health", async () =>
      (await fetch(`http://127.0.0.1:${port}/health`)).status === 200 ? true : undefined,
    );
    await submit(shop.order("Q-1", ["Solveig"]));
    await ended("Q-1");
    await until("the count", async () =>
      (await (await fetch(`http://127.0.0.1:${port}/metrics`)).text()).includes('kitforme_orders_total{end="made"} 1')
        ? true
        : undefined,
    );
    await worker.stop();
  });

  it("says at once that Redis is away, and never its password", async () => {
    const away = ["--redis", "redis://:secret@127.0.0.1:1", "--prefix", "away"];
    for (const args of [
      ["submit", ...away, shop.order("Q-1", ["Solveig"])],
      ["status", ...away],
    ]) {
      const said = await kitforme(args);
      expect(said.code).toBe(3);
      expect(said.seconds).toBeLessThan(10);
      expect(said.err).toContain("cannot be reached");
      expect(said.err + said.out).not.toContain("secret");
    }
  });

  it("says that it does not know an order", async () => {
    expect((await status("Q-404")).code).toBe(1);
    expect(readFileSync(shop.shop, "utf8")).toContain("stocks");
  });
});
