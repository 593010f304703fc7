// Traps of the queue beneath (BullMQ 6 on ioredis), each seen in an experiment of its own, and what keeps us out of it. Jobs that run
// out of memory (a thread's, which must not take the process along) are in limits.test.ts; deaths of workers in survive.test.ts.
import { existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Queue, Worker } from "bullmq";
import { openQueues } from "../../packages/queue/src/queues.ts";
import { LANES } from "../../packages/queue/src/keys.ts";
import { askingRedis, submitOrders, workerRedis } from "@kitforme/queue";
import { Redis } from "ioredis";
import { describe, expect, it, onTestFinished } from "vitest";
import { hashes } from "../support/command.ts";
import { bench, doorTo, living, until, workDoomed, workHere } from "../support/queue.ts";

describe("a Redis that is away", () => {
  it("is waited for by workers for ever, and by those who ask not at all", async () => {
    const at = bench();
    // BullMQ refuses a worker's connection that gives up.
    const hasty = new Redis(at.url, { maxRetriesPerRequest: 1, lazyConnect: true });
    onTestFinished(() => hasty.disconnect());
    expect(() => new Worker("x", async () => undefined, { connection: hasty, autorun: false })).toThrow(
      /maxRetriesPerRequest/,
    );
    const patient = workerRedis(at.url);
    onTestFinished(() => patient.disconnect());
    expect(patient.options.maxRetriesPerRequest).toBeNull();

    const door = await doorTo(at.url);
    const asking = askingRedis(door.url);
    asking.on("error", () => undefined);
    onTestFinished(() => asking.disconnect());
    await until("the connection", () => asking.status === "ready");
    await door.shut();
    await until("the door to be shut", () => asking.status !== "ready");
    const content = { order: "Q-1", lines: [] };
    const one = { name: "Q-1", file: "Q-1.json", text: JSON.stringify(content), content };
    const since = performance.now();
    await expect(submitOrders(asking, at.keys, [one], { effort: "quick" })).rejects.toThrow();
    expect(performance.now() - since).toBeLessThan(2_000);
  });
});

describe("names of jobs", () => {
  it("are such as the queue takes, come again after their end, and all have a priority", async () => {
    const at = bench();
    const raw = new Queue("orders", { connection: at.redis, prefix: at.keys.prefix });
    onTestFinished(() => raw.close());
    for (const wrong of ["12", "a:b"]) await expect(raw.add("gang", {}, { jobId: wrong })).rejects.toThrow(/Custom Id/);

    const queues = openQueues(at.redis, at.keys);
    onTestFinished(() => queues.close());
    await queues.add("g1", "orders", 7);
    await queues.add("g1", "orders", 9); // the same gang twice is one job
    await queues.add("g2", "orders", 1);
    const jobs = await raw.getJobs(["prioritized"]);
    expect(new Map(jobs.map((job) => [job.id, job.opts.priority]))).toEqual(
      new Map([
        ["g1", 7],
        ["g2", 1],
      ]),
    );
    expect(jobs.length).toBe(2);
    // A job without a priority would pass them all: there is none.
    expect(await raw.getJobCounts("waiting", "prioritized")).toEqual({ waiting: 0, prioritized: 2 });
    const done: string[] = [];
    const worker = new Worker("orders", async (job) => void done.push(job.id ?? ""), {
      connection: at.redis,
      prefix: at.keys.prefix,
    });
    worker.on("error", () => undefined);
    await until("both", () => done.length === 2);
    expect(done).toEqual(["g2", "g1"]);
    await until("them to be forgotten", async () => (await at.redis.exists(`${at.keys.prefix}:orders:g1`)) === 0);
    await queues.add("g1", "orders", 7); // it was split, say, or its folder was taken away
    await until("the same name once more", () => done.length === 3);
    await worker.close();
  });

  it("are told from nothing else: every kind of job is added with a priority", () => {
    const sources = ["packages/queue/src", "packages/serve/src"].flatMap((folder) => {
      const root = join(import.meta.dirname, "../..", folder);
      return readdirSync(root, { recursive: true, encoding: "utf8" })
        .filter((file) => file.endsWith(".ts"))
        .map((file) => readFileSync(join(root, file), "utf8"))
        .filter((text) => /from "bullmq"/.test(text));
    });
    expect(sources.length).toBeGreaterThanOrEqual(3);
    for (const text of sources) {
      const adds = text.split(/jobId:/).slice(1);
      for (const add of adds) expect(add.slice(0, 200)).toContain("priority");
      // A queue or worker without a listener to its errors ends the process with the first of them.
      const opened = [...text.matchAll(/new (?:Queue|Worker)\b/g)].length;
      if (opened > 0) expect(text).toMatch(/\.on\("error"/);
    }
  });
});

describe("a connection that breaks", () => {
  it("under queues that stand open ends no process: they listen to their errors", async () => {
    const at = bench();
    const door = await doorTo(at.url);
    const redis = new Redis(door.url, { maxRetriesPerRequest: null, retryStrategy: () => 50 });
    redis.on("error", () => undefined);
    onTestFinished(() => redis.disconnect());
    const queues = openQueues(redis, at.keys);
    await queues.add("g1", LANES[0], 1);
    await door.shut();
    await until("the break", () => redis.status !== "ready");
    await door.open();
    await until("the connection", () => redis.status === "ready");
    await queues.add("g2", LANES[0], 1);
    expect(await at.redis.zcard(`${at.keys.prefix}:rush:prioritized`)).toBe(2);
    await queues.close();
  });
});

describe("a worker killed in the midst of a job", () => {
  it("leaves no process behind: those that open strangers' files end with it", async () => {
    const at = bench();
    // A picture is opened in a process of its own.
    const names = Array.from({ length: 30 }, (_, i) => `Boat ${i}`);
    const kit = join(at.kits, "tag/kit.json");
    writeFileSync(join(at.kits, "tag/art.svg"), readFileSync(join(at.kits, "tag/tag.svg")));
    const with_ = readFileSync(kit, "utf8").replace('"#art"', '{"file":"art.svg","box":[0,0,60,40]}');
    writeFileSync(kit, with_);
    const worker = await workDoomed(at);
    await at.submit(at.order("Q-1", names));
    await until("a process of the worker's", () => living().length > 1);
    await worker.stop("SIGKILL");
    await until("every process to be gone", () => living().length === 0, 20);
  });

  it("or whose lock on it is gone, gives it up at once: nothing of the attempt counts, and the job is made once", async () => {
    const at = bench();
    const file = at.order(
      "Q-1",
      Array.from({ length: 60 }, (_, i) => `Boat ${i}`),
    );
    await at.submit(file);
    const worker = workHere(at);
    await at.midst("Q-1");
    const gang = (await at.status("Q-1"))?.gang ?? "";
    const first = await at.redis.hget(`${at.keys.prefix}-gang:${gang}`, "token");
    // As when it was not renewed in time: the worker learns it by its next renewal (lockRenewalFailed).
    expect(await at.redis.del(`${at.keys.prefix}:orders:${gang}:lock`)).toBe(1);
    await until("the loss to be noticed", () => worker.lost.includes(gang), 10);
    const [status] = await at.ended("Q-1");
    expect(status?.state).toBe("made");
    const token = Number(await at.redis.get(`${at.keys.prefix}-fence`));
    expect(token).toBeGreaterThan(Number(first?.split("-")[0]));
    expect(at.jobs().length).toBe(1);
    expect(status?.answer?.end === "made" && hashes(status.answer.folder)).toEqual(await at.madeAlone(file));
    await worker.stop();
    const attempts = join(at.out, ".kitforme/attempts");
    expect(existsSync(attempts) ? readdirSync(attempts) : []).toEqual([]);
  });
});
