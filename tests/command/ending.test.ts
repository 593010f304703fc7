// How every command ends: one last line with --json, an exit code, and nothing that garbles what is no terminal.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { BIN, kitforme } from "../support/command.ts";
import { inside } from "../support/inside.ts";
import { smallShop } from "../support/small-shop.ts";

const at = smallShop(mkdtempSync(join(tmpdir(), "kitforme-ending-")));
const start = process.cwd();
beforeAll(() => process.chdir(at.root));
afterAll(() => {
  process.chdir(start);
  rmSync(at.root, { recursive: true, force: true });
});

const lastOf = (out: string) => JSON.parse(out.trim().split("\n").at(-1) as string) as Record<string, unknown>;

const HERE = ["make", "check", "seal", "estimate", "remake", "fit", "preview", "submit", "work", "serve"];
const COMMANDS = HERE.concat("status", "cancel", "retry", "reprint", "watch");
const NO_REDIS = ["--redis", "redis://127.0.0.1:1"];

describe("every command", () => {
  it.each(COMMANDS)("%s: help has exit codes and examples, and each example is no wrong usage", async (command) => {
    const help = await inside([command, "--help"]);
    expect(help.code).toBe(0);
    expect(help.out).toContain("Exit codes:");
    const examples = [...help.out.matchAll(/^ {2}kitforme (.+)$/gm)].map((m) => m[1] as string);
    expect(examples.length).toBeGreaterThan(0);
    // One of a remake asks the queue, as those of the commands that are not here do.
    for (const example of HERE.includes(command) ? examples.filter((one) => !/ --order /.test(one)) : []) {
      const words = [...example.matchAll(/'([^']*)'|(\S+)/g)].map((m) => m[1] ?? (m[2] as string));
      expect(words[0]).toBe(command);
      // In an empty folder nothing is there: a fault of the input, found before anything else is done.
      const ended = await inside([...words.map((w) => (/[/.]/.test(w) ? `no/${w}` : w)), "--json"]);
      expect([example, ended.code]).toEqual([example, 1]);
      expect(lastOf(ended.out)).toMatchObject({ event: "end", end: "refused", exit: 1 });
    }
  });

  it.each(COMMANDS)("%s: wrong usage is the last line too, with its reason", async (command) => {
    const ended = await inside([command, "--mend", "--json"]);
    expect(ended.code).toBe(2);
    const last = lastOf(ended.out);
    expect(last).toMatchObject({ event: "end", end: "usage", exit: 2 });
    expect(String(last["reason"])).toMatch(/\w/);
  });

  it.each(["status", "cancel A", "retry A", "reprint A", "remake --order A --spoiled 1:1"])(
    "%s: Redis that is away is an environment fault",
    async (words) => {
      const ended = await inside([...words.split(" "), ...NO_REDIS, "--json"]);
      expect(ended.code).toBe(3);
      expect(lastOf(ended.out)).toMatchObject({ event: "end", end: "environment", exit: 3 });
      expect(ended.err).toContain("could not go on");
    },
  );
});

describe("before any work", () => {
  const rest = ["--shop", "shop.json", "--kits", "kits", "order.json"];
  it("an empty path and an unknown effort are refused", async () => {
    const before = readdirSync(at.root);
    for (const args of [
      ["make", "--out", "", ...rest],
      ["make", "--out", "out", "--effort", "heroic", ...rest],
      ["remake", "--job", "out", "--spoiled", "1:1", "--out", " "],
      ["remake", "--job", "out", "--spoiled", "1:1"],
      ["remake", "--order", "A", "--job", "out", "--spoiled", "1:1"],
      ["remake", "--order", "A", "--spoiled", "1:1", "--effort", "best"],
      ["remake", "--order", "A", "--spoiled", "1:1", "--replace"],
      ["remake", "--job", "out", "--out", "again", "--spoiled", "1:1", "--as", "B"],
      ["reprint", "A", "--as", "B/C"],
      ["preview", ...rest.slice(0, 4), "--kit", "tag", "--out", ""],
      ["fit", "--job", "", "--sheet", "1", "--seen", "marks.json", "--out", "fitted"],
      ["check", "--shop", "", "order.json"],
    ])
      expect([args, (await inside([...args, "--json"])).code]).toEqual([args, 2]);
    expect((await inside(["retry"])).err).toContain("--failed");
    expect(readdirSync(at.root)).toEqual(before);
  });

  it("help and version leave standard output to the machine", async () => {
    for (const args of [["--version"], ["make", "--help"]]) {
      const ended = await inside([...args, "--json"]);
      expect(ended.out).toBe('{"event":"end","end":"done","exit":0}\n');
      expect(ended.err).not.toBe("");
    }
  });

  it("Node's flags hold where the command is at work", () => {
    const seen = `data:text/javascript,import{isMainThread as m}from"node:worker_threads";m||console.error("in the thread")`;
    const { stderr } = spawnSync(process.execPath, ["--import", seen, BIN, "check", "--shop", "none.json", "none"], {
      encoding: "utf8",
    });
    expect(stderr).toContain("in the thread");
  });

  it("an old Node is told so", async () => {
    const older = 'data:text/javascript,Object.defineProperty(process,"versions",{value:{node:"18.20.4"}})';
    const child = spawn(process.execPath, ["--import", older, BIN, "check", "--json"], {
      stdio: ["ignore", "pipe", "pipe"],
    });
    let out = "";
    child.stdout.on("data", (data: Buffer) => void (out += data.toString()));
    expect(await new Promise((resolve) => child.once("close", resolve))).toBe(3);
    expect(lastOf(out)).toMatchObject({ end: "environment", exit: 3 });
    expect(String(lastOf(out)["reason"])).toContain("Node.js 20.19");
  });
});

describe("a job", () => {
  /** Stops the command at its first step. */
  const stopped = async (args: readonly string[], signal: NodeJS.Signals) => {
    const child = spawn(process.execPath, [BIN, ...args, "--json"], { stdio: ["ignore", "pipe", "pipe"] });
    const said = { out: "", err: "" };
    child.stderr.on("data", (data: Buffer) => void (said.err += data.toString()));
    child.stdout.on("data", (data: Buffer) => {
      if (!said.out.includes('"progress"') && data.toString().includes('"progress"')) child.kill(signal);
      said.out += data.toString();
    });
    const code = await new Promise((resolve) => child.once("close", resolve));
    return { code, ...said };
  };

  it("says done at its end, on lines of their own; check and remake that are stopped say what is left", async () => {
    const order = at.order("E-1", ["Solveig"]);
    const rest = ["--shop", at.shop, "--kits", at.kits, "--effort", "quick"];
    const made = await kitforme(["make", ...rest, "--out", at.out, "--json", order]);
    expect(made.events.slice(-2)).toMatchObject([{ event: "done" }, { event: "end", end: "done", exit: 0 }]);
    // Progress that has not changed is not said again.
    const steps = made.events.map((event) => JSON.stringify(event)).filter((event) => event.includes('"progress"'));
    expect(steps.length).toBeGreaterThan(4);
    expect(steps.filter((step, i) => step === steps[i - 1])).toEqual([]);
    // No terminal: a line per phase, nothing that moves the cursor, and no bar left standing.
    expect(made.err).toMatch(/^laying out sheets \.\.\.$/m);
    for (const mover of ["\r", "\u001b"]) expect(made.err).not.toContain(mover);

    const deep = join(at.root, "deep");
    const none = await kitforme(["remake", "--job", at.out, "--spoiled", "9:9", "--out", join(deep, "again")]);
    expect([none.code, existsSync(deep)]).toEqual([1, false]);

    const again = join(at.root, "again");
    const remake = await stopped(["remake", "--job", at.out, "--spoiled", "1:1", "--out", again], "SIGINT");
    expect(remake.code).toBe(3);
    expect(remake.err).toContain("nothing was written to the job folder");
    expect(lastOf(remake.out)).toMatchObject({ event: "end", end: "interrupted", exit: 3 });
    expect(existsSync(again)).toBe(false);
    expect(readdirSync(at.root).filter((name) => name.startsWith("."))).toEqual([]);

    const check = await stopped(["check", "--shop", at.shop, "--kits", at.kits, order], "SIGTERM");
    expect(check.code).toBe(3);
    expect(lastOf(check.out)).toMatchObject({ event: "end", end: "interrupted", exit: 3 });
  });
});
