// A Redis for the tests, whatever the machine has: REDIS_URL, else a redis-server on the PATH, else docker compose, else
// Debian's package when it may be installed, else one clear sentence.
import { type ChildProcess, execFileSync, spawn, spawnSync } from "node:child_process";
import { createServer } from "node:net";
import type { TestProject } from "vitest/node";

declare module "vitest" {
  interface ProvidedContext {
    redisUrl: string;
  }
}

const has = (command: string, ...args: string[]): boolean => spawnSync(command, args, { stdio: "ignore" }).status === 0;

/** A port of this machine that nobody has. */
export const freePort = (): Promise<number> =>
  new Promise((resolve, reject) => {
    const server = createServer();
    server.once("error", reject);
    server.listen(0, "127.0.0.1", () => {
      const address = server.address();
      server.close(() => resolve(typeof address === "object" && address ? address.port : 0));
    });
  });

/** Whether a Redis of one's own can be started here. */
export const hasRedisServer = (): boolean => has("redis-server", "--version");

/** A redis-server of one's own on a free port of this machine, that keeps nothing; `more` are its options, the last of a kind wins. */
export const redisHere = async (...more: string[]): Promise<{ url: string; child: ChildProcess }> => {
  const port = await freePort();
  const quiet = ["--save", "", "--appendonly", "no", "--maxmemory-policy", "noeviction"];
  const child = spawn("redis-server", ["--port", String(port), "--bind", "127.0.0.1", ...quiet, ...more], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  await new Promise<void>((resolve, reject) => {
    child.once("error", reject);
    child.once("exit", (code) => reject(new Error(`redis-server ended with ${code} before it was ready`)));
    child.stdout?.on("data", (data: Buffer) => data.toString().includes("Ready to accept") && resolve());
  });
  return { url: `redis://127.0.0.1:${port}`, child };
};

const install = (): boolean => {
  if (process.getuid?.() !== 0 || !has("apt-get", "--version")) return false;
  process.stderr.write("No Redis here: installing Debian's redis-server for the tests ...\n");
  const env = { ...process.env, DEBIAN_FRONTEND: "noninteractive" };
  const apt = (...args: string[]) => spawnSync("apt-get", args, { stdio: "ignore", env }).status === 0;
  // The package would start a server of its own at boot; the tests start theirs on a free port.
  return (
    (apt("install", "-y", "--no-install-recommends", "redis-server") ||
      (apt("update") && apt("install", "-y", "--no-install-recommends", "redis-server"))) &&
    hasRedisServer()
  );
};

const NONE =
  "The queue tests need a Redis and found none: set REDIS_URL, or put redis-server on the PATH (Debian: apt-get install redis-server), or start Docker, and run the tests again.";

export default async function setup(project: TestProject): Promise<() => void> {
  const given = process.env["REDIS_URL"];
  if (given) {
    project.provide("redisUrl", given);
    return () => undefined;
  }
  if (!hasRedisServer() && has("docker", "compose", "version") && has("docker", "info")) {
    // A project of its own on a port of its own: neither starting it nor taking it down may touch the queue that somebody works with.
    const env = { ...process.env, KITFORME_REDIS_PORT: "" };
    const compose = (...args: string[]) =>
      execFileSync("docker", ["compose", "--project-name", "kitforme-tests", ...args], { encoding: "utf8", env });
    compose("up", "-d", "--wait", "redis");
    project.provide("redisUrl", `redis://${compose("port", "redis", "6379").trim()}`);
    return () => void compose("down", "--volumes");
  }
  if (!hasRedisServer() && !install()) throw new Error(NONE);
  const { url, child } = await redisHere();
  const stop = () => void child.kill("SIGKILL");
  process.on("exit", stop); // a test run that dies must not leave its Redis running
  project.provide("redisUrl", url);
  return stop;
}
