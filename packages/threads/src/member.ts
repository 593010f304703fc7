import { type ChildProcess, fork } from "node:child_process";
import type { Socket } from "node:net";
import { fileURLToPath } from "node:url";
import {
  type Bounds,
  type Cause,
  HELD,
  LIFELINE,
  TaskFailed,
  thrownOf,
  type ToChild,
  type ToParent,
} from "./bounds.ts";
import type { Entry } from "./entry.ts";
import type { Spool } from "./spool.ts";

/** How a task ended in a process. `died`: it took the process with it. */
export type TaskEnd =
  | { readonly answer: unknown }
  | { readonly failed: Error }
  | { readonly died: Cause; readonly how: string; readonly started: boolean; readonly held: number };

type Answerer = (question: unknown) => Promise<unknown>;

interface Current {
  readonly answer: Answerer;
  readonly done: (end: TaskEnd) => void;
}

/**
 * For glibc, which else keeps an arena of memory for each thread: a process that has opened
 * artwork keeps 90 MiB less, at the same speed. Other systems do not know it (mallopt(3)).
 */
const FRUGAL = { MALLOC_ARENA_MAX: "1" };

/**
 * Milliseconds after which a process that has not begun is given up: Node hangs where the system gives it too few threads. It
 * takes a third of a second on an idle machine.
 */
const LATEST = 120_000;

/** One child process of a crew. */
export class Member {
  /** Tasks given so far. */
  tasks = 0;
  /** It is to get no other task. */
  tired = false;
  gone = false;
  readonly #child: ChildProcess;
  readonly #ended: Promise<void>;
  #ready = false;
  #said = "";
  #fault: Error | undefined;
  #current: Current | undefined;

  constructor(entry: Entry, spool: Spool, heap: number) {
    this.#child = fork(fileURLToPath(entry.file), [...entry.argv], {
      execArgv: [...entry.execArgv, `--max-old-space-size=${heap}`],
      serialization: "advanced",
      env: { ...FRUGAL, ...process.env },
      // What native libraries cry belongs into nobody's log; KITFORME_TRACE lets us hear it.
      stdio: ["ignore", "ignore", process.env["KITFORME_TRACE"] ? "inherit" : "ignore", "ipc", "pipe", spool.file],
    });
    const lifeline = this.#child.stdio[LIFELINE] as Socket | null | undefined;
    lifeline?.on("data", (data: Buffer) => (this.#said += data.toString("latin1"))).on("error", () => undefined);
    this.#child.on("message", (said: ToParent) => this.#hear(said));
    this.#child.on("error", (error) => {
      this.#fault = error;
      this.#end("", null);
    });
    this.#ended = new Promise((resolve) => {
      this.#child.once("close", (code, signal) => {
        this.#end(signal ?? `exit ${code}`, signal);
        resolve();
      });
      // One that could not be started is never closed.
      this.#child.once("error", () => resolve());
    });
    const late = setTimeout(() => this.#ready || void this.kill(), LATEST).unref();
    void this.#ended.then(() => clearTimeout(late));
    this.#hold(false);
  }

  /** Does one task at a time. Never rejects. */
  do(task: unknown, bounds: Bounds, answer: Answerer): Promise<TaskEnd> {
    this.tasks++;
    this.#hold(true);
    return new Promise((resolve) => {
      this.#current = { answer, done: resolve };
      if (this.gone) this.#end("gone", null);
      else this.#send({ task, bounds });
    });
  }

  /** Ends the process at once, whatever it does. */
  async kill(): Promise<void> {
    // Its end is waited for: a parent with nothing else to do would be over before it.
    if (!this.gone) this.#hold(true);
    this.#child.kill("SIGKILL");
    // Whoever waits for the end must be kept until then, or the program's last `await` never comes back.
    if (!this.gone) this.#hold(true);
    await this.#ended;
  }

  #send(said: ToChild): void {
    // A channel that closes meanwhile is seen by the process's end.
    if (this.#child.connected) this.#child.send(said, () => undefined);
  }

  #hear(said: ToParent): void {
    if ("ready" in said) this.#ready = true;
    else if ("question" in said) {
      const reply = said.question;
      const asked = this.#current?.answer(said.what) ?? Promise.reject(new Error("a question without a task"));
      asked.then(
        (value) => this.#send({ reply, value }),
        (error: unknown) => this.#send({ reply, thrown: thrownOf(error) }),
      );
    } else if ("answer" in said) {
      this.tired = said.tired;
      this.#finish({ answer: said.answer });
    } else {
      // Whatever its modules hold after a failure, nobody else shall meet it.
      this.tired = true;
      this.#finish({ failed: new TaskFailed(said.thrown) });
    }
  }

  #end(how: string, signal: NodeJS.Signals | null): void {
    this.gone = true;
    if (this.#fault) return this.#finish({ failed: this.#fault });
    const lines = this.#said.split("\n");
    const cause = lines.find((line) => line === "time" || line === "memory");
    const held = Math.max(0, ...lines.map((line) => Number(HELD.exec(line)?.[1] ?? 0)));
    const died: Cause =
      cause ?? (signal === "SIGABRT" || how === "exit 134" ? "memory" : signal === "SIGKILL" ? "killed" : "crashed");
    this.#finish({ died, how, started: this.#ready && !lines.includes("unwatched"), held });
  }

  #finish(end: TaskEnd): void {
    const current = this.#current;
    this.#current = undefined;
    this.#hold(false);
    current?.done(end);
  }

  /** A process that waits must not keep this one. */
  #hold(on: boolean): void {
    const lifeline = this.#child.stdio?.[LIFELINE] as Socket | null | undefined;
    for (const one of [this.#child, this.#child.channel, lifeline])
      if (on) one?.ref();
      else one?.unref();
  }
}
