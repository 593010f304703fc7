// What a worker says before it takes its first order: one sentence for everything that would spoil all of them.
import { spawn } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it, onTestFinished } from "vitest";
import { BIN } from "../support/command.ts";
import { bench, until, workThere } from "../support/queue.ts";
import { hasRedisServer, redisHere } from "../support/redis-server.ts";
import { smallShop } from "../support/small-shop.ts";

const root = process.getuid?.() === 0;
/** Whether another user can read the code: a clone in a folder of mode 700 is shut to everybody but its owner. */
const open = BIN.split("/")
  .slice(0, -1)
  .every((_, k, parts) => (statSync(parts.slice(0, k + 1).join("/") || "/").mode & 0o001) !== 0);

/** A worker that cannot start, as a user other than the one who owns the folders where this machine lets us. */
const start = (
  at: { shop: string; kits: string; out: string },
  ...more: readonly string[]
): Promise<{ code: number | null; err: string }> =>
  new Promise((resolve, reject) => {
    const child = spawn(
      process.execPath,
      // A port where nobody listens: a worker that comes as far as Redis would wait there until it is killed.
      [BIN, "work", "--shop", at.shop, "--kits", at.kits, "--out", at.out, "--redis", "redis://127.0.0.1:1", ...more],
      { stdio: ["ignore", "ignore", "pipe"], timeout: 30_000, ...(root && open ? { uid: 65_534 } : {}) },
    );
    let err = "";
    child.stderr.on("data", (data: Buffer) => {
      err += data.toString();
    });
    child.once("error", reject);
    child.once("close", (code) => resolve({ code, err }));
  });

const shopHere = () => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-start-"));
  chmodSync(folder, 0o755); // mkdtemp's own is shut to everybody else
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return smallShop(folder);
};

describe("a worker that could make nothing ends at once, and says", () => {
  // Root can write everywhere, so this needs another user who can read the code.
  it.skipIf(root && !open)("that the out folder is another's", async () => {
    const at = shopHere();
    mkdirSync(at.out);
    chmodSync(at.out, 0o555);
    const { code, err } = await start(at);
    expect(err).toMatch(new RegExp(`^The out folder ${at.out} cannot be written by user \\d+ \\(EACCES\\): .*--out`));
    expect(err.trim().split("\n").length).toBe(1);
    expect(code).toBe(3);
  });

  it("all that is wrong with shop, kits, out and cache", async () => {
    const at = shopHere();
    writeFileSync(at.out, "a file");
    rmSync(at.kits, { recursive: true });
    writeFileSync(at.shop, '{"stocks": {}}');
    const { code, err } = await start(at, "--cache", join(at.out, "cache"));
    expect(err).toContain(`The cache folder ${join(at.out, "cache")} cannot be written`);
    expect(err).toContain(`The kits folder ${at.kits} is not there`);
    expect(err).toContain(`The out folder ${at.out} is no folder`);
    expect(err).toContain("cutters: an object in braces is missing");
    expect(err).toContain("No order was taken");
    expect(code).toBe(1);
  });

  it("that there is no such shop", async () => {
    const at = shopHere();
    mkdirSync(at.out);
    chmodSync(at.out, 0o777);
    const { code, err } = await start({ ...at, shop: join(at.root, "nowhere.json") });
    expect(err).toContain("The shop's file cannot be read: there is no such file");
    expect(code).toBe(1);
  });
});

// A Redis with a temper of its own must be started here; one that is only given by its address keeps what it has.
describe.skipIf(!hasRedisServer())("a worker that can", () => {
  const redisWith = async (...options: string[]): Promise<string> => {
    const folder = mkdtempSync(join(tmpdir(), "kitforme-redis-"));
    const { url, child } = await redisHere("--dir", folder, ...options);
    onTestFinished(async () => {
      const gone = new Promise((resolve) => void child.once("exit", resolve));
      child.kill("SIGKILL");
      await gone;
      rmSync(folder, { recursive: true, force: true });
    });
    return url;
  };

  it("leaves nothing in the out folder, and is silent about a Redis that keeps its orders", async () => {
    const url = await redisWith("--appendonly", "yes");
    const at = bench();
    const worker = await workThere(at, "--redis", url);
    await until("Redis", () => worker.log().includes("Redis is there"));
    expect(await worker.stop()).toBe(0);
    expect(worker.log()).not.toMatch(/appendonly|noeviction/);
    expect(readdirSync(at.out)).toEqual([]);
  });

  it("warns of a Redis that may lose them", async () => {
    const at = bench();
    const worker = await workThere(at, "--redis", await redisWith("--maxmemory-policy", "allkeys-lru"));
    await until("the warnings", () => worker.log().includes("appendonly yes"));
    expect(worker.log()).toContain("maxmemory-policy allkeys-lru");
    expect(await worker.stop()).toBe(0);
  });
});

describe("a server", () => {
  const serve = (
    at: { shop: string; kits: string; out: string; root: string },
    env: Record<string, string>,
    ...more: string[]
  ) => {
    const paths = ["--shop", at.shop, "--kits", at.kits, "--out", at.out, "--tokens", join(at.root, "tokens")];
    const child = spawn(process.execPath, [BIN, "serve", "--json", ...paths, ...more], {
      stdio: ["ignore", "pipe", "pipe"],
      env: { ...process.env, ...env },
      timeout: 60_000,
    });
    let said = "";
    for (const stream of [child.stdout, child.stderr])
      stream.on("data", (data: Buffer) => void (said += data.toString()));
    const gone = new Promise<number | null>((resolve) => void child.once("close", resolve));
    return { child, log: () => said, gone };
  };

  it("refuses settings that are wrong by their names", async () => {
    const at = shopHere();
    const wrong = {
      KITFORME_RATE: "fast",
      KITFORME_PROXY: "10.0.0.0/99",
      KITFORME_WEBHOOK: "ftp://store",
    };
    const all = await Promise.all(
      Object.entries(wrong).map(async ([name, value]) => {
        const { gone, log } = serve(at, { [name]: value });
        return [name, await gone, log().includes(`from env '${name}' is invalid`)];
      }),
    );
    expect(all).toEqual(Object.keys(wrong).map((name) => [name, 2, true]));
    const none = serve(at, {});
    expect([await none.gone, none.log().includes("tokens")]).toEqual([3, true]);
  });

  it("starts and stops while Redis is away, and logs one line a request", async () => {
    const at = shopHere();
    writeFileSync(join(at.root, "tokens"), `store ${"t".repeat(40)}\n`);
    const { child, log, gone } = serve(at, {}, "--listen", "0", "--redis", "redis://127.0.0.1:1");
    onTestFinished(() => void child.kill("SIGKILL"));
    const url = await until("the server", () => /"url":"(http[^"]+)"/.exec(log())?.[1]);
    const headers = { authorization: `Bearer ${"t".repeat(40)}` };
    expect((await fetch(`${url}/orders/A-1`, { headers })).status).toBe(503);
    child.kill("SIGTERM");
    expect(await gone).toBe(0);
    const lines = log()
      .split("\n")
      .filter(Boolean)
      .map((line) => JSON.parse(line) as Record<string, unknown>);
    expect(lines.filter((l) => l["msg"] === "request")).toEqual([
      expect.objectContaining({ route: "/orders/:order", order: "A-1", name: "store", status: 503 }),
    ]);
    expect(lines.at(-2)).toMatchObject({ msg: "stopped" });
  });
});
