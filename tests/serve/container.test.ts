// The container's steps without an engine, in a long form by hand (KITFORME_CONTAINER=steps, npm run test:container): every line of the
// Dockerfile in docker-compose.yml done in a folder, then what it would start is asked for its help and its health.
import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { parse } from "yaml";
import { freePort, redisHere } from "../support/redis-server.ts";

const house = join(import.meta.dirname, "../..");
const compose = parse(readFileSync(join(house, "docker-compose.yml"), "utf8")) as {
  services: Record<string, { build?: { dockerfile_inline: string } }>;
};
const steps = (compose.services["worker"]?.build?.dockerfile_inline ?? "")
  .split("\n")
  .filter((line) => line !== "" && !line.startsWith("#"))
  .map((line) => ({ what: line.split(" ")[0] as string, words: line.slice(line.indexOf(" ") + 1) }));

describe.runIf(process.env["KITFORME_CONTAINER"] === "steps")("the container file", () => {
  const root = mkdtempSync(join(tmpdir(), "kitforme-container-"));
  afterAll(() => rmSync(root, { recursive: true, force: true }));

  it("step by step gives a command that says its help, and a worker that gets ready and stops", async () => {
    let folder = root;
    let entry: string[] = [];
    const env: NodeJS.ProcessEnv = { ...process.env };
    const done: string[] = [];
    for (const { what, words } of steps) {
      if (what === "FROM") expect(Number(/^node:(\d+)/.exec(words)?.[1])).toBeGreaterThanOrEqual(20);
      else if (what === "ENV")
        for (const [, name = "", value] of words.matchAll(/(\w+)=(\S+)/g)) {
          // The library comes with a step of apt's, which would change this machine.
          if (name !== "LD_PRELOAD") env[name] = value;
        }
      else if (what === "WORKDIR") mkdirSync((folder = join(root, words)), { recursive: true });
      else if (what === "COPY") {
        expect(words).toBe(". .");
        // As the engine takes it: what git knows, less .dockerignore, which names nothing that git knows.
        const files = execFileSync("git", ["ls-files", "-z"], { cwd: house, encoding: "utf8" }).split("\0");
        for (const file of files.filter(Boolean)) {
          mkdirSync(dirname(join(folder, file)), { recursive: true });
          cpSync(join(house, file), join(folder, file));
        }
      } else if (what === "RUN" && words.includes("apt-get")) {
        const [, named = ""] = /--no-install-recommends (\S+)/.exec(words) ?? [];
        expect(execFileSync("apt-cache", ["policy", named], { encoding: "utf8" })).toContain("Candidate:");
      } else if (what === "RUN") execFileSync("sh", ["-ec", words], { cwd: folder, env, stdio: "pipe" });
      else if (what === "ENTRYPOINT") entry = JSON.parse(words) as string[];
      else throw new Error(`a step that this test does not know: ${what}`);
      done.push(what);
    }
    expect(done).toEqual(["FROM", "RUN", "ENV", "WORKDIR", "COPY", "RUN", "ENTRYPOINT"]);
    const command = join(root, entry[0] as string);
    expect(execFileSync(command, ["--help"], { env, encoding: "utf8" })).toMatch(/Usage: kitforme/);

    const redis = await redisHere();
    const port = await freePort();
    const shop = join(folder, "fixtures/demo");
    const worker = spawn(command, ["work"], {
      env: {
        ...env,
        REDIS_URL: redis.url,
        KITFORME_SHOP: join(shop, "shop.json"),
        KITFORME_KITS: join(shop, "kits"),
        KITFORME_OUT: join(root, "out"),
        KITFORME_HEALTH: `127.0.0.1:${port}`,
      },
      stdio: "ignore",
    });
    const ended = new Promise<number | null>((resolve) => void worker.once("exit", resolve));
    try {
      // As the container's own health check asks.
      const ask = `fetch('http://127.0.0.1:${port}/health').then(r => process.exit(r.ok ? 0 : 1), () => process.exit(1))`;
      let healthy = false;
      for (let i = 0; i < 120 && !healthy; i++) {
        await new Promise((resolve) => setTimeout(resolve, 500));
        healthy = await fetch(`http://127.0.0.1:${port}/health`).then(
          (r) => r.ok,
          () => false,
        );
      }
      expect(healthy).toBe(true);
      execFileSync("node", ["-e", ask], { env, stdio: "pipe" });
    } finally {
      worker.kill("SIGTERM");
      expect(await ended).toBe(0);
      redis.child.removeAllListeners("exit").kill();
    }
  }, 600_000);
});
