// Every setting that the environment can bring is refused by its name when it is wrong, before anything is touched.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it, vi } from "vitest";
import { main } from "../../worker/src/cli.ts";

const WORKER = join(import.meta.dirname, "../../worker/src");
/** Every variable that an option reads. */
const KNOWN = new Set(
  ["cli.ts", "options.ts"].flatMap((file) =>
    [...readFileSync(join(WORKER, file), "utf8").matchAll(/\.env\(\s*"(\w+)",?\s*\)/g)].map((m) => m[1] as string),
  ),
);

/** A command that reads the variable, and values that it must refuse. */
const WRONG: Readonly<Record<string, readonly [command: string, ...values: string[]]>> = {
  KITFORME_SHOP: ["work", "", " "],
  KITFORME_KITS: ["submit", "", " "],
  KITFORME_OUT: ["serve", "", " "],
  KITFORME_CACHE: ["work", ""],
  KITFORME_CACHE_SIZE: ["work", "-1", "1G", "1048577"],
  KITFORME_CONCURRENCY: ["work", "", "0", "1.5", "many", "65", "1e99"],
  KITFORME_MEMORY: ["work", "63", "2g", "1048577"],
  KITFORME_GRACE: ["work", "-1", "25s", "86401"],
  KITFORME_KEEP: ["work", "-1", "90d", "36501"],
  KITFORME_HEALTH: ["work", "", "door", "65536", "host:"],
  KITFORME_TOKENS: ["serve", ""],
  KITFORME_LISTEN: ["serve", "", "https", "65536"],
  KITFORME_EFFORT: ["serve", "", "most"],
  KITFORME_RATE: ["serve", "0", "fast", "1000001"],
  KITFORME_BODY: ["serve", "0", "8M", "513"],
  KITFORME_ORIGIN: ["serve", "store.example", "https://store.example/"],
  KITFORME_PROXY: ["serve", "proxy", "10.0.0.0/99", "10.0.0.1,x"],
  KITFORME_WEBHOOK: ["serve", "ftp://store", "store"],
  KITFORME_WEBHOOK_SECRET: ["serve", ""],
  KITFORME_PREFIX: ["status", "", "a:b", "{a}", "a b"],
  REDIS_URL: ["status", "", "127.0.0.1:6379", "http://redis"],
};

const said = async (args: readonly string[], env: Readonly<Record<string, string>>) => {
  for (const name of KNOWN) vi.stubEnv(name, undefined);
  for (const [name, value] of Object.entries(env)) vi.stubEnv(name, value);
  let words = "";
  const hear = (text: unknown): boolean => {
    words += String(text);
    return true;
  };
  const spies = [process.stdout, process.stderr].map((stream) => vi.spyOn(stream, "write").mockImplementation(hear));
  try {
    return { code: await main(args), words };
  } finally {
    for (const spy of spies) spy.mockRestore();
    vi.unstubAllEnvs();
  }
};

describe("a setting of the environment", () => {
  it("is in this list", () => expect(Object.keys(WRONG).sort()).toEqual([...KNOWN].sort()));

  it.each(Object.entries(WRONG))("%s is refused by its name", async (name, [command, ...values]) => {
    for (const value of values) {
      const { code, words } = await said([command, ...(command === "submit" ? ["order.json"] : [])], { [name]: value });
      expect(code, `${name}=${value}: ${words}`).toBe(2);
      expect(words).toContain(`from env '${name}' is invalid`);
    }
  });
});
