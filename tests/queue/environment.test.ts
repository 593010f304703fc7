// A disk that is full, read-only or gone, a Redis that is full: work pauses, says why and goes on. Real mounts where this
// machine lets us make them.
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { keysOf, statusOf, submitOrders } from "@kitforme/queue";
import { Redis } from "ioredis";
import { describe, expect, it, onTestFinished } from "vitest";
import { hashes } from "../support/command.ts";
import { type Bench, bench, until, workHere } from "../support/queue.ts";
import { hasRedisServer, redisHere } from "../support/redis-server.ts";

const mount = (...args: string[]): boolean => spawnSync("mount", args, { stdio: "ignore" }).status === 0;
const unmount = (folder: string): boolean => spawnSync("umount", ["-l", folder], { stdio: "ignore" }).status === 0;

const canMount = ((): boolean => {
  const folder = mkdtempSync(join(tmpdir(), "kitforme-mount-"));
  const can = process.platform === "linux" && mount("-t", "tmpfs", "tmpfs", folder);
  if (can) unmount(folder);
  rmSync(folder, { recursive: true, force: true });
  return can;
})();

/** A shop whose folder of jobs is a disk of its own. */
const onDisk = (size: string): Bench => {
  const at = bench();
  mkdirSync(at.out);
  expect(mount("-t", "tmpfs", "-o", `size=${size}`, "tmpfs", at.out)).toBe(true);
  onTestFinished(() => void unmount(at.out));
  return at;
};

const made = async (at: Bench, file: string): Promise<void> => {
  const [status] = await at.ended("Q-1");
  expect(status?.state).toBe("made");
  expect(status?.answer?.end === "made" && hashes(status.answer.folder)).toEqual(await at.madeAlone(file));
};

describe.skipIf(!canMount)("a disk", () => {
  it("that is full pauses the work until there is room", async () => {
    const at = onDisk("24m");
    const file = at.order("Q-1", ["Solveig"]);
    // Freezing still fits; the job is what finds the disk too full.
    writeFileSync(join(at.out, "other"), new Uint8Array((24 << 20) - (96 << 10)));
    await at.submit(file);
    const worker = workHere(at);
    await until("the pause", () => worker.trouble()?.includes("ENOSPC"));
    expect(worker.ready()).toBe(false);
    expect(worker.trouble()).toContain(at.out);
    // It has been laid out, and is not laid out again: it waits with what it has.
    const waiting = await until("the order to say so", async () => {
      const now = await at.status("Q-1");
      return now?.trouble ? now : undefined;
    });
    expect(waiting.state).toBe("making");
    expect(waiting.trouble).toContain("the disk is full (ENOSPC)");
    const token = await at.redis.get(`${at.keys.prefix}-fence`);
    rmSync(join(at.out, "other"));
    await made(at, file);
    expect(await at.redis.get(`${at.keys.prefix}-fence`)).toBe(token);
    expect(worker.trouble()).toBeUndefined();
  });

  it("that is read-only is named as such, with the path", async () => {
    const at = onDisk("64m");
    const file = at.order("Q-1", ["Solveig"]);
    const worker = workHere(at);
    // A disk with a file open for writing cannot be made read-only, and a worker that has just come tries the folder.
    await until("the disk to become read-only", () => mount("-o", "remount,ro", at.out));
    await at.submit(file);
    const trouble = await until("the pause", () => worker.trouble());
    expect(trouble).toContain("the disk is mounted read-only (EROFS)");
    expect(trouble).toContain(at.out);
    expect(mount("-o", "remount,rw", at.out)).toBe(true);
    await made(at, file);
  });

  it("that is unmounted is waited for, and nothing is written in its place", async () => {
    const at = onDisk("64m");
    const worker = workHere(at);
    await at.submit(at.order("Q-0", ["Aino"]));
    await at.ended("Q-0"); // the worker has seen the disk
    // Another name for the same disk keeps what is on it while it is away.
    const kept = mkdtempSync(join(tmpdir(), "kitforme-kept-"));
    expect(mount("--bind", at.out, kept)).toBe(true);
    onTestFinished(() => {
      unmount(kept);
      rmSync(kept, { recursive: true, force: true });
    });
    expect(unmount(at.out)).toBe(true);
    const file = at.order("Q-1", ["Solveig"]);
    await at.submit(file);
    expect(await until("the pause", () => worker.trouble())).toMatch(/mounted/);
    expect(readdirSync(at.out)).toEqual([]);
    expect(mount("--bind", kept, at.out)).toBe(true);
    onTestFinished(() => void unmount(at.out));
    await made(at, file);
  });
});

describe.skipIf(!hasRedisServer())("a Redis", () => {
  it("that is full loses no order: work goes on when it has room", async () => {
    const folder = mkdtempSync(join(tmpdir(), "kitforme-redis-"));
    const { url, child } = await redisHere("--dir", folder);
    onTestFinished(async () => {
      const gone = new Promise((resolve) => void child.once("exit", resolve));
      child.kill("SIGKILL");
      await gone;
      rmSync(folder, { recursive: true, force: true });
    });
    const at = { ...bench(), url };
    const redis = new Redis(url, { maxRetriesPerRequest: null });
    onTestFinished(() => redis.disconnect());
    const keys = keysOf(at.keys.prefix);
    const text = JSON.stringify({ order: "Q-1", lines: [{ kit: "tag", quantity: 1, texts: [{ name: "Solveig" }] }] });
    const one = { name: "Q-1", file: "Q-1.json", text, content: JSON.parse(text) as object };
    await submitOrders(redis, keys, [one], { effort: "quick" });
    await redis.config("SET", "maxmemory", "1");
    await expect(submitOrders(redis, keys, [{ ...one, name: "Q-2" }], { effort: "quick" })).rejects.toThrow("OOM");
    const worker = workHere(at);
    await until("the pause", () => worker.trouble()?.includes("Redis is full"));
    expect((await statusOf(redis, keys, { order: "Q-1" }))[0]?.state).toBe("received");
    await redis.config("SET", "maxmemory", "0");
    await until("it to be made", async () => (await statusOf(redis, keys, { order: "Q-1" }))[0]?.state === "made");
    expect(await statusOf(redis, keys, { order: "Q-2" })).toEqual([]);
    await worker.stop();
  });
});
