import { rmdirSync, rmSync } from "node:fs";
import { setTimeout as pause } from "node:timers/promises";
import type { Worker } from "node:worker_threads";
import { entryOf, optimiseLate, startThread } from "@kitforme/threads";
import { EXIT } from "./exit.ts";
import type { Outlet } from "./outlet.ts";
import { type Left, Stopped } from "./stop.ts";

/** Milliseconds after a signal in which a command may end by itself; then it is ended. */
const ENDING = 700;
/** Milliseconds that a thread gets to let go of what it holds: a call into a library cannot be cut off. */
const LETTING_GO = 300;

/** States of the number that both threads see: whichever changes it from `running` first has its way. */
export const STATE = { running: 0, whole: 1, stopped: 2 } as const;

/** What the command's thread says along the way. */
export type Message = { readonly left: Left } | { readonly ends: true } | { readonly bar: boolean };

/** What the command's thread is given. */
export interface Given {
  readonly words: readonly string[];
  /** One number, see `STATE`. */
  readonly state: SharedArrayBuffer;
  /** Columns of the terminal that standard output and standard error are; left out where they are none. */
  readonly columns: { readonly out?: number; readonly err?: number };
}

/**
 * Runs a command in a thread of its own and watches for SIGINT and SIGTERM here, where nothing is ever computed: a signal is
 * seen at once, whatever the command is doing. The exit code.
 */
export const watched = async (words: readonly string[], outlet: Outlet): Promise<number> => {
  optimiseLate();
  const state = new Int32Array(new SharedArrayBuffer(4));
  const given: Given = { words, state: state.buffer as SharedArrayBuffer, columns: columns() };
  const thread = startThread(entryOf(import.meta.url, "./thread"), { data: given, flags: true });
  let left: Left = { words: "nothing was written." };
  let ends = false;
  let bar = false;
  let asked = false;
  thread.on("message", (message: Message) => {
    if ("left" in message) left = message.left;
    else if ("ends" in message) ends = true;
    else bar = message.bar;
  });
  const atOnce = async (): Promise<void> => {
    // A job that is being moved to its place is moved: it says so itself.
    if (Atomics.compareExchange(state, 0, STATE.running, STATE.stopped) !== STATE.running) return;
    await Promise.race([thread.terminate(), pause(LETTING_GO)]);
    takeAway(left);
    if (bar) process.stderr.write(BAR_AWAY);
    outlet.end({ how: "interrupted", exit: EXIT.ours, reason: new Stopped(left.words).message });
    process.exit(EXIT.ours);
  };
  const onSignal = (): void => {
    if (asked || !ends) return void atOnce();
    asked = true;
    thread.postMessage("stop");
    setTimeout(() => void atOnce(), ENDING).unref();
  };
  for (const name of ["SIGINT", "SIGTERM"] as const) process.on(name, onSignal);
  try {
    return await endOf(thread, state);
  } catch (error) {
    if (bar) process.stderr.write(BAR_AWAY);
    // What is needed only now is not loaded before.
    const { endingBy } = await import("./ending.ts");
    const ending = endingBy(error);
    outlet.end(ending);
    return ending.exit;
  } finally {
    for (const name of ["SIGINT", "SIGTERM"] as const) process.off(name, onSignal);
  }
};

const takeAway = ({ unfinished, empty = [] }: Left): void => {
  if (unfinished !== undefined) rmSync(unfinished, { recursive: true, force: true });
  for (const folder of empty)
    try {
      rmdirSync(folder);
    } catch {
      // It never came to be, or somebody has put something into it.
    }
};

/** Back to the start of the line, the line empty, the cursor seen. */
const BAR_AWAY = "\r\u001B[K\u001B[?25h";

/** The thread's exit code; while a stop is under way there is none. Throws what nobody caught. */
const endOf = (thread: Worker, state: Int32Array): Promise<number> =>
  new Promise((resolve, reject) => {
    const heeded = (task: () => void) => () => Atomics.load(state, 0) === STATE.stopped || task();
    let failure: unknown;
    thread.once("error", (error) => (failure = error));
    thread.once("exit", (code) => heeded(() => (failure === undefined ? resolve(code) : reject(failure)))());
  });

const columns = (): Given["columns"] => ({
  ...(process.stdout.isTTY ? { out: process.stdout.columns } : {}),
  ...(process.stderr.isTTY ? { err: process.stderr.columns } : {}),
});
