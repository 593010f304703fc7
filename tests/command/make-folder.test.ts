// Where `make` puts a job: whole or not at all, and never in the place of another.
import { spawn } from "node:child_process";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { describe, expect, it, onTestFinished } from "vitest";
import { BIN, hashes, kitforme } from "../support/command.ts";
import { smallShop } from "../support/small-shop.ts";

const shopHere = () => {
  const at = smallShop(mkdtempSync(join(tmpdir(), "kitforme-folder-")));
  onTestFinished(() => rmSync(at.root, { recursive: true, force: true }));
  const args = (out: string, ...orders: string[]) => [
    "make",
    "--shop",
    at.shop,
    "--kits",
    at.kits,
    "--effort",
    "quick",
    "--out",
    out,
    ...orders,
  ];
  return { ...at, args };
};

/** Seconds that a process and its threads have had on a processor (Linux, 100 ticks a second). */
const secondsOf = (pid: number): number | undefined => {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, "utf8");
    const fields = stat.slice(stat.lastIndexOf(")") + 2).split(" ");
    return (Number(fields[11]) + Number(fields[12])) / 100;
  } catch {
    return undefined;
  }
};

describe("the job folder", () => {
  it("of another job is refused unless --replace says so; what is not the job's is left alone", async () => {
    const at = shopHere();
    const [one, two] = [at.order("F-1", ["Solveig", "Aino"]), at.order("F-2", ["Frida"])];
    const cache = ["--cache", join(at.root, "cache/deep")];
    expect((await kitforme([...at.args(at.out, one), ...cache])).code).toBe(0);
    const before = hashes(at.out);
    // The tag; the insert is only cut. Whatever is written anew is another file.
    const kept = () =>
      readdirSync(join(at.root, "cache/deep")).map((name) => statSync(join(at.root, "cache/deep", name)).ino);
    const entries = kept();
    expect(entries).toHaveLength(1);
    expect((await kitforme([...at.args(at.out, one), ...cache])).code).toBe(0); // the same job again is the same job
    expect(hashes(at.out)).toEqual(before);
    expect(kept()).toEqual(entries); // its piece was found
    const file = await kitforme([...at.args(at.out, one), "--cache", at.shop, "--json"]);
    expect([file.code, file.events.map((e) => e["rule"])]).toEqual([1, expect.arrayContaining(["cache-unwritable"])]);
    const refused = await kitforme([...at.args(at.out, two), "--json"]);
    expect(refused.code).toBe(1);
    expect(refused.events.map((e) => e["rule"])).toContain("folder-holds-another-job");
    expect(hashes(at.out)).toEqual(before);
    writeFileSync(join(at.out, "note.txt"), "the shop's own");
    expect((await kitforme([...at.args(at.out, two), "--replace"])).code).toBe(0);
    expect(JSON.parse(readFileSync(join(at.out, "job.json"), "utf8"))).toMatchObject({ orders: ["F-2"] });
    const alone = join(at.root, "alone");
    expect((await kitforme(at.args(alone, two))).code).toBe(0);
    const { "note.txt": note, ...rest } = hashes(at.out);
    expect(note).toBeDefined();
    expect(rest).toEqual(hashes(alone));
    expect(readdirSync(at.root).filter((name) => name.startsWith("."))).toEqual([]);
  });

  it.each(["SIGINT", "SIGTERM"] as const)(
    "is not there after %s, nor anything else, within two seconds",
    async (signal) => {
      const at = shopHere();
      const names = Array.from({ length: 1_500 }, (_, i) => `Boat of the harbour ${i}`);
      const out = join(at.root, "deep/out");
      const args = at.args(out, at.order("F-1", names)).map((a) => (a === "quick" ? "best" : a));
      const child = spawn(process.execPath, [BIN, ...args, "--json"], { stdio: ["ignore", "pipe", "pipe"] });
      let said = "";
      child.stderr.on("data", (data: Buffer) => void (said += data.toString()));
      await new Promise<void>((resolve) => {
        child.stdout.on("data", (data: Buffer) => data.toString().includes('"phase":"gang"') && resolve());
      });
      const before = secondsOf(child.pid as number);
      let last = before;
      const looking = setInterval(() => (last = secondsOf(child.pid as number) ?? last), 20);
      const started = performance.now();
      const code = await new Promise((resolve) => {
        child.once("exit", resolve);
        child.kill(signal);
      });
      clearInterval(looking);
      expect(code).toBe(3);
      // Two seconds of a machine of two processors, whatever else runs on it.
      if (before !== undefined && last !== undefined) expect(last - before).toBeLessThan(4);
      else expect(performance.now() - started).toBeLessThan(2_000);
      expect(said).toContain("nothing was written");
      // Not even the folder above it, which was not there before.
      expect(existsSync(join(at.root, "deep"))).toBe(false);
    },
  );
});

it("without the queue's package make works, and the queue's commands say what is missing", async () => {
  const at = shopHere();
  const home = join(at.root, "installed/node_modules");
  const house = join(BIN, "../../..");
  mkdirSync(join(home, "@kitforme"), { recursive: true });
  for (const part of ["bin", "dist", "package.json"])
    cpSync(join(house, "worker", part), join(home, "kitforme", part), { recursive: true });
  for (const name of ["@kitforme/run", "@kitforme/kit", "@kitforme/threads", "commander", "pino", "cli-progress"])
    symlinkSync(join(house, "node_modules", name), join(home, name));
  const bin = join(home, "kitforme/bin/kitforme.mjs");
  const run = (...args: string[]) =>
    new Promise<{ code: number | null; err: string }>((resolve) => {
      const child = spawn(process.execPath, [bin, ...args], { stdio: ["ignore", "ignore", "pipe"] });
      let err = "";
      child.stderr.on("data", (data: Buffer) => void (err += data.toString()));
      child.once("close", (code) => resolve({ code, err }));
    });
  expect(await run(...at.args(at.out, at.order("F-1", ["Solveig"])))).toMatchObject({ code: 0 });
  for (const args of [
    ["status"],
    ["submit", at.order("F-1", ["Solveig"])],
    ["cancel", "F-1"],
    ["retry", "F-1"],
    ["watch"],
  ]) {
    const { code, err } = await run(...args);
    expect(err).toBe(
      "The queue is not installed beside this command: npm install @kitforme/queue (make and check need none).\n",
    );
    expect(code).toBe(3);
  }
});
