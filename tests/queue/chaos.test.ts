// A night in which everything goes wrong that can: workers killed and suspended, Redis restarted, the disk full or read-only (where
// this machine lets us mount one), kits edited in between. A short one here; the long one is `npm run test:chaos` (KITFORME_CHAOS=long). KITFORME_SEED repeats a night.
import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statfsSync,
  writeFileSync,
} from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { freezeKit, type OrderStatus, printRun, retryOrder, statusOf, submitOrders } from "@kitforme/queue";
import { Redis } from "ioredis";
import { expect, it, onTestFinished } from "vitest";
import { hashes } from "../support/command.ts";
import { bench, living, until, workDoomed, type WorkProcess } from "../support/queue.ts";
import { hasRedisServer } from "../support/redis-server.ts";

const LONG = process.env["KITFORME_CHAOS"] === "long";
const NIGHT = LONG
  ? {
      workers: 4,
      orders: 500,
      kills: 100,
      stops: 20,
      longest: 90_000,
      restarts: 10,
      away: 60_000,
      full: 4,
      readOnly: 4,
      trouble: 20_000,
      pause: 3_000,
      between: 4_500,
      hours: 3,
    }
  : {
      workers: 2,
      orders: 8,
      kills: 2,
      stops: 1,
      longest: 5_000,
      restarts: 1,
      away: 1_000,
      full: 1,
      readOnly: 0,
      trouble: 1_500,
      pause: 2_300,
      between: 400,
      hours: 0.06,
    };
const SEED = Number(process.env["KITFORME_SEED"] ?? 1);

/** Equal numbers for equal seeds (mulberry32). */
const chance = (seed: number) => () => {
  seed = (seed + 0x6d2b79f5) | 0;
  let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
  t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
  return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
};

const freePort = (): Promise<number> =>
  new Promise((resolve) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const address = server.address();
      server.close(() => resolve(typeof address === "object" && address ? address.port : 0));
    });
  });

/** A Redis that writes down every change before it answers, and can be killed and started again. */
const lastingRedis = async () => {
  const port = await freePort();
  const dir = mkdtempSync(join(tmpdir(), "kitforme-chaos-redis-"));
  const options = ["--appendonly", "yes", "--appendfsync", "always", "--save", "", "--maxmemory-policy", "noeviction"];
  let child: ChildProcess;
  const start = () =>
    new Promise<void>((resolve, reject) => {
      child = spawn("redis-server", ["--port", String(port), "--bind", "127.0.0.1", "--dir", dir, ...options]);
      child.once("error", reject);
      child.stdout?.on("data", (data: Buffer) => data.toString().includes("Ready to accept") && resolve());
    });
  const stop = () =>
    new Promise<void>((resolve) => {
      child.once("exit", () => resolve());
      child.kill("SIGKILL");
    });
  await start();
  onTestFinished(async () => {
    await stop();
    rmSync(dir, { recursive: true, force: true });
  });
  return { url: `redis://127.0.0.1:${port}`, start, stop };
};

const mount = (...args: string[]): boolean => spawnSync("mount", args, { stdio: "ignore" }).status === 0;

/** A disk of its own for the jobs, that can be full or read-only; undefined where this machine mounts nothing for us. */
const diskAt = (folder: string) => {
  if (process.platform !== "linux" || !mount("-t", "tmpfs", "-o", "size=8g", "tmpfs", folder)) return undefined;
  onTestFinished(() => void spawnSync("umount", ["-l", folder], { stdio: "ignore" }));
  const used = (): number => {
    const { blocks, bfree, bsize } = statfsSync(folder);
    return (blocks - bfree) * bsize;
  };
  return {
    /** False when a file is open on it for too long. */
    async readOnly(): Promise<boolean> {
      for (let i = 0; i < 200; i++) {
        if (mount("-o", "remount,ro", folder)) return true;
        await wait(20);
      }
      return false;
    },
    full: (): boolean => mount("-o", `remount,size=${used() + (64 << 10)}`, folder),
    mend: (): boolean => mount("-o", "remount,rw,size=8g", folder),
  };
};

const wait = (ms: number) => new Promise((resolve) => void setTimeout(resolve, ms));

interface Manifest {
  readonly orders: readonly string[];
  readonly gang?: { readonly closed: string; readonly why: string };
  readonly sheets: readonly {
    readonly placements: readonly {
      piece: string;
      serves: readonly { order: string; first: number; last: number }[];
    }[];
  }[];
}

it.skipIf(!hasRedisServer())(
  "every order is made exactly once, into one whole folder, and no status was ever untrue",
  { timeout: NIGHT.hours * 3600_000 + 240_000 },
  async () => {
    const next = chance(SEED);
    const between = (least: number, most: number) => least + Math.floor(next() * (most - least + 1));
    const redisServer = await lastingRedis();
    const at = { ...bench(), url: redisServer.url };
    const redis = new Redis(at.url, { maxRetriesPerRequest: null, retryStrategy: () => 200 });
    redis.on("error", () => undefined);
    onTestFinished(() => redis.disconnect());
    const shop = JSON.parse(readFileSync(at.shop, "utf8")) as object;
    writeFileSync(at.shop, JSON.stringify({ ...shop, gang: { fill: 0.5, wait: 0.05, lead: 24 } }));
    mkdirSync(at.out);
    const disk = diskAt(at.out);
    const report = (words: string) => LONG && process.stderr.write(`${new Date().toISOString()} ${words}\n`);

    // Kits are edited in between; every version is kept, to make the same gangs of it without a queue.
    const versions = [join(at.root, "kits-0")];
    cpSync(at.kits, versions[0] as string, { recursive: true });
    const editKit = () => {
      const colour = `#${Math.floor(next() * 0xffffff)
        .toString(16)
        .padStart(6, "0")}`;
      const file = join(at.kits, "tag/tag.svg");
      writeFileSync(`${file}.new`, readFileSync(file, "utf8").replace(/fill="#[0-9a-f]{6}"/, `fill="${colour}"`));
      renameSync(`${file}.new`, file);
      const copy = join(at.root, `kits-${versions.length}`);
      cpSync(at.kits, copy, { recursive: true });
      versions.push(copy);
    };

    const workers: WorkProcess[] = await Promise.all(Array.from({ length: NIGHT.workers }, () => workDoomed(at)));
    onTestFinished(() => workers.forEach((w) => w.child.kill("SIGKILL")));

    // The watcher: what status says is held against the folders all along.
    const untrue: string[] = [];
    const ended = new Map<string, string>();
    let over = false;
    // One look at a time: an answer that was asked for first and came last would be held against a later one.
    let looking: Promise<unknown> = Promise.resolve();
    const look = (): Promise<OrderStatus[]> => {
      const looked = looking.then(lookOnce);
      looking = looked.catch(() => undefined);
      return looked;
    };
    const lookOnce = async (): Promise<OrderStatus[]> => {
      const all = await statusOf(redis, at.keys);
      for (const { order, state, answer } of all) {
        if (state === "made" && answer?.end === "made" && !existsSync(join(answer.folder, "job.json")))
          untrue.push(`${order} is made, but ${answer.folder} is not finished`);
        const end = answer?.end === "made" ? answer.folder : undefined;
        const before = ended.get(order);
        if (before !== undefined && before !== end) untrue.push(`${order} was made in ${before}, then ${state}`);
        if (end !== undefined) ended.set(order, end);
      }
      return all;
    };
    const watching = (async () => {
      while (!over) {
        await look().catch(() => undefined);
        await wait(250);
      }
    })();

    const orders = new Map<string, string>();
    const intake = (async () => {
      for (let i = 0; i < NIGHT.orders; i++) {
        const name = `C-${String(i).padStart(3, "0")}`;
        const file = at.order(
          name,
          Array.from({ length: between(1, 4) }, (_, k) => `Boat ${i} ${k}`),
        );
        orders.set(name, file);
        const text = readFileSync(file, "utf8");
        const content = JSON.parse(text) as object;
        await submitOrders(redis, at.keys, [{ name, file, text, content }], { effort: "quick" });
        if (next() < 0.1) editKit();
        await wait(between(0, NIGHT.between));
      }
    })();

    const mischief = [
      ...Array.from({ length: NIGHT.kills }, () => "kill"),
      ...Array.from({ length: NIGHT.stops }, () => "stop"),
      ...Array.from({ length: NIGHT.restarts }, () => "restart"),
      "away",
      ...(disk ? Array.from({ length: NIGHT.full }, () => "full") : []),
      ...(disk ? Array.from({ length: NIGHT.readOnly }, () => "read-only") : []),
    ]
      .map((what) => ({ what, rank: next() }))
      .sort((a, b) => a.rank - b.rank);
    const waking: Promise<void>[] = [];
    for (const [i, { what }] of mischief.entries()) {
      if (i % 5 === 0) report(`${i} of ${mischief.length} mischiefs, ${orders.size} orders in, ${ended.size} made`);
      await wait(between(NIGHT.pause / 2, NIGHT.pause * 1.5));
      const which = between(0, workers.length - 1);
      const victim = workers[which] as WorkProcess;
      if (what === "kill") {
        await victim.stop("SIGKILL");
        workers[which] = await workDoomed(at);
      } else if (what === "stop") {
        victim.child.kill("SIGSTOP");
        waking.push(wait(between(5_000, NIGHT.longest)).then(() => void victim.child.kill("SIGCONT")));
      } else if (what === "full" || what === "read-only") {
        const bad = what === "full" ? disk?.full() : await disk?.readOnly();
        await wait(NIGHT.trouble);
        if (bad) expect(disk?.mend(), "the disk to be mended").toBe(true);
        else report(`the disk could not be made ${what}`);
      } else {
        await redisServer.stop();
        await wait(what === "away" ? NIGHT.away : 200);
        await redisServer.start();
      }
    }
    await intake;
    await Promise.all(waking);
    // Those on duty in the morning: what failed for three kills is tried again.
    await until(
      "all to be made",
      async () => {
        const all = await look();
        for (const { order, state } of all) if (state === "failed") await retryOrder(redis, at.keys, order);
        report(`${ended.size} of ${all.length} made`);
        return all.length === NIGHT.orders && all.every((s) => s.state === "made");
      },
      LONG ? 3_600 : 200,
    );
    for (const worker of workers) expect(await worker.stop("SIGTERM")).toBe(0);
    over = true;
    await watching;
    await until("every process to be gone", () => living().length === 0, 30);

    expect(untrue).toEqual([]);
    const folders = readdirSync(at.out).filter((name) => !name.startsWith("."));
    expect(new Set(ended.values())).toEqual(new Set(folders.map((name) => join(at.out, name))));
    const attempts = join(at.out, ".kitforme/attempts");
    expect(existsSync(attempts) ? readdirSync(attempts) : []).toEqual([]);
    const served = new Map<string, number>();
    // The version of the kit that a job is made of: the one its orders were frozen with.
    const versionOf = new Map<string, string>();
    for (const kits of versions) versionOf.set(await freezeKit(join(at.root, "frozen"), join(kits, "tag")), kits);
    report(`${folders.length} jobs of ${versions.length} versions of the kit are made anew`);
    for (const name of folders) {
      const job = JSON.parse(readFileSync(join(at.out, name, "job.json"), "utf8")) as Manifest;
      for (const { placements } of job.sheets)
        for (const { piece, serves } of placements)
          for (const { order, first, last } of serves)
            for (let n = first; n <= last; n++) {
              const key = `${order} ${piece} ${n}`;
              served.set(key, (served.get(key) ?? 0) + 1);
            }
      // The same gang, made by itself of the version of the kit that its orders were frozen with, is the same to the byte.
      const found = hashes(join(at.out, name));
      const texts = job.orders.map((order) => {
        const file = orders.get(order) as string;
        return { name: order, file, text: readFileSync(file, "utf8") };
      });
      const frozen = await redis.hget(`${at.keys.prefix}-order:${job.orders[0]}`, "kits");
      const kits = versionOf.get(frozen ?? "");
      if (kits === undefined) throw new Error(`${name} is made of a kit that never was: ${frozen}`);
      const work = { orders: texts, shop: at.shop, kits, out: join(at.root, "alone"), effort: "quick" as const };
      const { made } = await printRun(work, job.gang ? { gang: job.gang } : {});
      expect(made?.job, "the job that the same gang gives by itself").toBe(name);
      expect(hashes(made?.folder ?? ""), `the files of ${name} by itself`).toEqual(found);
    }
    const wanted = [...orders].flatMap(([order, file]) => {
      const { lines } = JSON.parse(readFileSync(file, "utf8")) as { lines: { quantity: number }[] };
      const copies = lines[0]?.quantity ?? 0;
      return ["tag", "insert"].flatMap((piece) =>
        Array.from({ length: copies }, (_, n) => `${order} ${piece} ${n + 1}`),
      );
    });
    expect([...served.keys()].sort()).toEqual(wanted.sort());
    expect([...served.values()].every((n) => n === 1)).toBe(true);
  },
);
