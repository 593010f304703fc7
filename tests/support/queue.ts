// A queue under a prefix of its own, looked at in process; nothing here sleeps and hopes: `until` waits for what is looked for.
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { connect, createServer, type Server, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { Redis } from "ioredis";
import {
  keysOf,
  type OrderStatus,
  printRun,
  startWork,
  statusOf,
  type SubmitHow,
  submitOrders,
  type Working,
  type WorkSettings,
} from "@kitforme/queue";
import { expect, inject, onTestFinished } from "vitest";
import { BIN, hashes } from "./command.ts";
import { smallShop } from "./small-shop.ts";

export const until = async <T>(
  what: string,
  look: () => Promise<T | undefined | false> | T | undefined | false,
  seconds = 100,
): Promise<T> => {
  for (const end = Date.now() + seconds * 1000; Date.now() < end; await new Promise((r) => void setTimeout(r, 20))) {
    const seen = await look();
    if (seen !== undefined && seen !== false) return seen;
  }
  throw new Error(`waited ${seconds} s for: ${what}`);
};

const submissionOf = (file: string) => {
  const text = readFileSync(file, "utf8");
  const content = JSON.parse(text) as { order: string };
  return { name: content.order, file, text, content };
};

let number = 0;

/** A shop, a prefix and a connection; all of it gone, and every worker stopped, when the test is over. */
export const bench = () => {
  const shop = smallShop(mkdtempSync(join(tmpdir(), "kitforme-queue-")));
  const url = inject("redisUrl");
  const keys = keysOf(`test-${process.pid}-${++number}`);
  const redis = new Redis(url, { maxRetriesPerRequest: null });
  onTestFinished(async () => {
    const all = await redis.keys(`${keys.prefix}[-:]*`);
    if (all.length > 0) await redis.del(...all);
    redis.disconnect();
    rmSync(shop.root, { recursive: true, force: true });
  });
  const status = async (name: string): Promise<OrderStatus | undefined> =>
    (await statusOf(redis, keys, { order: name }))[0];
  return {
    ...shop,
    url,
    keys,
    redis,
    status,
    queue: ["--redis", url, "--prefix", keys.prefix],
    submit: (...files: string[]) => submitOrders(redis, keys, files.map(submissionOf), { effort: "quick" }),
    submitWith: (how: Partial<SubmitHow>, ...files: string[]) =>
      submitOrders(redis, keys, files.map(submissionOf), { effort: "quick", ...how }),
    /** Waits until the orders have ended, and says how. */
    ended: (...orders: string[]): Promise<OrderStatus[]> =>
      until(`${orders.join(", ")} to end`, async () => {
        const all = await Promise.all(orders.map(status));
        const over = all.filter((s): s is OrderStatus => s?.answer !== undefined);
        return over.length === orders.length ? over : undefined;
      }),
    /** Waits until a worker is in the midst of an order: layouts are searched, no file is written yet. */
    midst: (order: string): Promise<unknown> =>
      until(`${order} to be laid out`, async () => {
        const now = await status(order);
        const { phase } = (now?.progress ?? {}) as { phase?: string };
        return now?.state === "making" && (phase === "prepare" || phase === "gang") ? now : undefined;
      }),
    /** Names of finished job folders. */
    jobs: (): string[] =>
      existsSync(shop.out) ? readdirSync(shop.out).filter((name) => existsSync(join(shop.out, name, "job.json"))) : [],
    /** The files' hashes when the orders are made by themselves, without a queue. */
    async madeAlone(...files: string[]): Promise<Record<string, string>> {
      return hashes(await this.alone(...files));
    },
    /** The folder that the orders make by themselves, without a queue. */
    async alone(...files: string[]): Promise<string> {
      const orders = files.map((file) => ({ name: basename(file), file, text: readFileSync(file, "utf8") }));
      const { made, refused } = await printRun({ ...shop, orders, out: join(shop.root, "alone"), effort: "quick" });
      if (!made) throw new Error(`nothing was made: ${JSON.stringify(refused)}`);
      return made.folder;
    },
  };
};
export type Bench = ReturnType<typeof bench>;

/** A bench whose shop gangs over time. */
export const ganging = (gang: object): Bench => {
  const at = bench();
  const shop = JSON.parse(readFileSync(at.shop, "utf8")) as object;
  writeFileSync(at.shop, JSON.stringify({ ...shop, gang }));
  return at;
};

export interface Trouble {
  readonly again: boolean;
  readonly reason: string;
}

/** A worker in this process, which notices a dead one's job within a second or two. */
export const workHere = (
  at: Bench,
  more: Partial<WorkSettings> = {},
): Working & { readonly troubles: readonly Trouble[]; readonly lost: readonly string[] } => {
  const troubles: Trouble[] = [];
  const lost: string[] = [];
  const redis = new Redis(at.url, { maxRetriesPerRequest: null });
  if (!existsSync(at.out)) mkdirSync(at.out);
  const working = startWork(
    redis,
    at.keys,
    {
      shop: at.shop,
      kits: at.kits,
      out: at.out,
      concurrency: 1,
      grace: 20_000,
      lock: 1_500,
      firstWait: 200,
      settle: 400,
      ...more,
    },
    {
      onTrouble: (_, error, again) => void troubles.push({ again, reason: error.message }),
      onLost: (gang) => void lost.push(gang),
    },
  );
  onTestFinished(async () => {
    await working.stop();
    redis.disconnect();
  });
  return { ...working, troubles, lost };
};

export interface WorkProcess {
  readonly child: ChildProcess;
  readonly log: () => string;
  /** Sends the signal and waits for the end: the exit code, null when killed. */
  stop(signal?: NodeJS.Signals): Promise<number | null>;
}

/** What every process started for this test file, and every process that it starts, carries in its environment. */
const MARK = `test-${process.pid}`;

/** Processes of this test file's workers and theirs that still live (Linux). */
export const living = (): number[] =>
  !existsSync("/proc/self/environ")
    ? []
    : readdirSync("/proc").flatMap((pid) => {
        try {
          const own = /^\d+$/.test(pid) && readFileSync(`/proc/${pid}/environ`, "utf8").split("\0");
          return own && own.includes(`KITFORME_TEST=${MARK}`) ? [Number(pid)] : [];
        } catch {
          return [];
        }
      });

const running = async (args: readonly string[], ready: string): Promise<WorkProcess> => {
  const env = { ...process.env, KITFORME_TEST: MARK }; // its children inherit it
  const child = spawn(process.execPath, args, { stdio: ["ignore", "pipe", "pipe"], env });
  let said = "";
  for (const stream of [child.stdout, child.stderr])
    stream.on("data", (data: Buffer) => {
      said += data.toString();
    });
  const gone = new Promise<number | null>((resolve) => void child.once("exit", resolve));
  onTestFinished(() => {
    const left = child.exitCode === null && child.signalCode === null;
    if (left) child.kill("SIGKILL");
    expect(left, "a worker was left running").toBe(false);
  });
  await until("the worker to start", () => {
    if (child.exitCode !== null) throw new Error(`the worker ended with ${child.exitCode}: ${said}`);
    return said.includes(ready);
  });
  return {
    child,
    log: () => said,
    stop(signal = "SIGTERM") {
      child.kill(signal);
      return gone;
    },
  };
};

/** `kitforme work` in a process of its own. */
export const workThere = (at: Bench, ...more: string[]): Promise<WorkProcess> =>
  running(
    [BIN, "work", "--json", "--shop", at.shop, "--kits", at.kits, "--out", at.out, ...at.queue, ...more],
    "taking orders",
  );

/** A worker in a process of its own whose lock is short, to be killed. */
export const workDoomed = (at: Bench): Promise<WorkProcess> => {
  const library = JSON.stringify(join(BIN, "../../../packages/queue/dist/index.js"));
  mkdirSync(at.out, { recursive: true });
  const settings = { shop: at.shop, kits: at.kits, out: at.out, concurrency: 1, grace: 0, lock: 1_500 };
  const code = `
    import { createRequire } from "node:module";
    import { keysOf, startWork } from ${library};
    const { Redis } = createRequire(${library})("ioredis");
    const redis = new Redis(${JSON.stringify(at.url)}, { maxRetriesPerRequest: null });
    const working = startWork(redis, keysOf(${JSON.stringify(at.keys.prefix)}), ${JSON.stringify(settings)}, {
      onLost: (gang) => console.log("lost", gang),
    });
    process.once("SIGTERM", async () => {
      await working.stop();
      redis.disconnect();
    });
    console.log("taking orders");`;
  return running(["--input-type=module", "--eval", code], "taking orders");
};

/** A door in front of Redis that can be shut: to whoever comes through it, Redis is then away. */
export const doorTo = async (url: string) => {
  const { hostname, port } = new URL(url);
  const open = new Set<Socket>();
  let server: Server;
  let mine = 0;
  const listen = () =>
    new Promise<void>((resolve, reject) => {
      server = createServer((near) => {
        const far = connect(Number(port || 6379), hostname);
        for (const [a, b] of [
          [near, far],
          [far, near],
        ] as const) {
          open.add(a);
          a.on("error", () => b.destroy()).on("close", () => void (open.delete(a) && b.destroy()));
          a.pipe(b);
        }
      });
      server.once("error", reject);
      server.listen(mine, "127.0.0.1", () => {
        const address = server.address();
        mine = typeof address === "object" && address ? address.port : 0;
        resolve();
      });
    });
  const shut = () =>
    new Promise<void>((resolve) => {
      server.close(() => resolve());
      for (const socket of open) socket.destroy();
    });
  await listen();
  onTestFinished(shut);
  return { url: `redis://127.0.0.1:${mine}`, port: mine, open: listen, shut };
};
