// Bounded processes: what a task does to its process is told as what it is, and nobody else notices.
import { fork, spawn } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { fileURLToPath, pathToFileURL } from "node:url";
import { Crew, entryOf, Exhausted, startThread, TaskFailed } from "@kitforme/threads";
import { afterAll, describe, expect, it, vi } from "vitest";
import type { Task } from "./tasks.ts";

vi.setConfig({ testTimeout: 120_000 });
const crew = new Crew(entryOf(import.meta.url, "./tasks"), 128);
afterAll(() => crew.close());

const bounds = { seconds: 20, memory: 1000 };
/** Milliseconds; 40 on an idle machine, where a machine that is busy may take seconds to let anybody run. */
const SOON = 15_000;
const ask = <T = unknown>(task: Task, more: object = {}): Promise<T> => crew.do<T>({ task, bounds, ...more });
const failure = (work: Promise<unknown>): Promise<unknown> =>
  work.then(
    () => "no failure",
    (error: unknown) => error,
  );
/** Whether a process runs; one that ended and that nobody has asked about does not. */
const alive = (pid: number): boolean => {
  try {
    process.kill(pid, 0);
    return process.platform !== "linux" || !/\) Z /.test(readFileSync(`/proc/${pid}/stat`, "latin1"));
  } catch {
    return false;
  }
};
const dies = async (pid: number, ms: number): Promise<boolean> => {
  for (const end = performance.now() + ms; performance.now() < end; await wait(20)) if (!alive(pid)) return true;
  return false;
};

describe("a crew", () => {
  it("keeps a process for the next task, and hands plain data, questions and spooled bytes over", async () => {
    const pid = await ask<number>({ do: "pid" });
    expect(pid).not.toBe(process.pid);
    expect(await ask({ do: "pid" })).toBe(pid);
    const value = { a: [1, 2.5, "é"], bytes: new Uint8Array([1, 2, 3]), none: undefined };
    expect(await ask({ do: "echo", value })).toEqual(value);
    const answer = (question: unknown) => Promise.resolve({ question });
    expect(await ask({ do: "ask" }, { answer })).toEqual({ question: { please: 1 } });
    const ref = crew.spool.put(new Uint8Array([1, 2, 3]));
    const back = await ask<typeof ref>({ do: "spool", ref });
    expect([...crew.spool.get(back)]).toEqual([2, 3, 4]);
  });

  it("does tasks side by side in processes of their own", async () => {
    const both = await Promise.all([ask<number>({ do: "pid" }), ask<number>({ do: "pid" })]);
    expect(new Set(both).size).toBe(2);
  });

  it("ends a task over its processor time, counted in processor time", async () => {
    const error = await failure(crew.do({ task: { do: "spin" } satisfies Task, bounds: { ...bounds, seconds: 0.5 } }));
    expect(error).toBeInstanceOf(Exhausted);
    expect(error).toMatchObject({ why: "time", bounds: { seconds: 0.5 } });
    expect(await ask({ do: "echo", value: 1 })).toBe(1);
  });

  it("ends a task over its memory, inside the JavaScript heap and outside of it", async () => {
    const eaten = await failure(crew.do({ task: { do: "eat" } satisfies Task, bounds: { ...bounds, memory: 400 } }));
    expect(eaten).toMatchObject({ why: "memory" });
    expect(await failure(ask({ do: "heap" }))).toMatchObject({ why: "memory" });
  });

  it("tells a crash, and an error with its system code; a process that failed gets no other task", async () => {
    expect(await failure(ask({ do: "signal", signal: "SIGSEGV" }))).toMatchObject({ why: "crashed" });
    expect(await failure(ask({ do: "signal", signal: "SIGKILL" }))).toMatchObject({ why: "killed" });
    const swollen = (await failure(ask({ do: "swell", mebibytes: 300 }))) as Exhausted;
    expect(swollen).toMatchObject({ why: "killed" });
    expect(swollen.held).toBeGreaterThan(250);
    expect(swollen.held).toBeLessThan(500);
    const before = await ask<number>({ do: "pid" });
    const error = await failure(ask({ do: "throw", code: "ENOSPC" }));
    expect(error).toBeInstanceOf(TaskFailed);
    expect(error).toMatchObject({ message: "RangeError: no more", code: "ENOSPC" });
    expect(await dies(before, SOON)).toBe(true);
  });

  it("does task after task in one process, and gives none to one that keeps too much memory: that one ends", async () => {
    const alone = new Crew(entryOf(import.meta.url, "./tasks"), 128);
    const keep = (mebibytes: number) => alone.do<number>({ task: { do: "keep", mebibytes }, bounds });
    const pids = [];
    for (let i = 0; i < 60; i++) pids.push(await keep(0.5));
    expect(new Set(pids).size).toBe(1);
    const large = await keep(320);
    expect(large).toBe(pids[0]);
    expect(await keep(0.5)).not.toBe(large);
    expect(alone.started).toBe(2);
    expect(await dies(large, SOON)).toBe(true);
    await alone.close();
  });

  it("blames nobody for what a neighbour left behind", async () => {
    const alone = new Crew(entryOf(import.meta.url, "./tasks"), 128);
    const give = (task: Task) => alone.do({ task, bounds });
    await give({ do: "poison" });
    expect(await give({ do: "sip" })).toBe("fine");
    expect(alone.started).toBe(2);
    await alone.close();
  });

  it("ends within a second when it is stopped", async () => {
    const stop = new AbortController();
    const pid = await ask<number>({ do: "pid" });
    const spinning = failure(ask({ do: "spin" }, { signal: stop.signal }));
    await wait(200);
    const before = performance.now();
    stop.abort(new Error("enough"));
    expect(await spinning).toMatchObject({ message: "enough" });
    expect(await dies(pid, SOON)).toBe(true);
    expect(performance.now() - before).toBeLessThan(SOON);
  });

  it("does not end by signals that are meant for its parent", async () => {
    const pid = await ask<number>({ do: "pid" });
    for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.kill(pid, signal);
    expect(await ask({ do: "pid" })).toBe(pid);
  });

  it("says so when its processes cannot be started at all", async () => {
    const none = new Crew({ file: new URL("./nothing.mjs", import.meta.url), argv: [], execArgv: [] }, 64);
    expect(await failure(none.do({ task: 1, bounds }))).toMatchObject({
      message: expect.stringContaining("could not be started"),
    });
    await none.close();
    // Ended by the system before they begin, as where it gives no more threads: that is the machine's, and clears.
    const folder = mkdtempSync(join(tmpdir(), "kitforme-crew-"));
    const file = join(folder, "abort.mjs");
    writeFileSync(file, "process.abort();");
    const starved = new Crew({ file: pathToFileURL(file), argv: [], execArgv: [] }, 64);
    expect(await failure(starved.do({ task: 1, bounds }))).toMatchObject({ code: "EAGAIN" });
    await starved.close();
    rmSync(folder, { recursive: true });
  });
});

describe("processes end with whoever started them, also in a busy loop", () => {
  const parent = entryOf(import.meta.url, "./parent");

  it.skipIf(process.platform === "win32")("when the parent is killed", async () => {
    const child = fork(fileURLToPath(parent.file), [...parent.argv], { execArgv: [...parent.execArgv] });
    const pids = await new Promise<number[]>((resolve) => child.once("message", (m) => resolve(m as number[])));
    expect(pids.every(alive)).toBe(true);
    child.kill("SIGKILL");
    for (const pid of pids) expect(await dies(pid, SOON)).toBe(true);
  });

  it("when the thread that started them is ended", async () => {
    const thread = startThread(parent);
    const pids = await new Promise<number[]>((resolve) => thread.once("message", resolve));
    await thread.terminate();
    for (const pid of pids) expect(await dies(pid, SOON)).toBe(true);
  });

  it("and do not keep a process that forgot them", async () => {
    const child = spawn(process.execPath, [...parent.execArgv, fileURLToPath(parent.file), ...parent.argv, "forget"]);
    expect(await new Promise((resolve) => child.once("exit", resolve))).toBe(0);
  });
});
