import { entryOf } from "./entry.ts";
import { writeSync } from "node:fs";
import { type Bounds, LIFELINE, RESERVE, SPOOL, thrownOf, type ToChild, type ToParent } from "./bounds.ts";
import { type Ref, readAt, writeAt } from "./spool.ts";
import { optimiseLate } from "./optimise-late.ts";
import { startThread } from "./start-thread.ts";

/** What a task may ask of the process that gave it. */
export interface Parent {
  /** Asks and waits for the answer. */
  ask<T>(question: unknown): Promise<T>;
  /** Bytes of the common spool. */
  get(ref: Ref): Uint8Array<ArrayBuffer>;
  put(bytes: Uint8Array): Promise<Ref>;
}

/** A process that keeps more than this after a task (MiB) gets no other: what a module of WebAssembly took is never given back. */
const MOST_KEPT = 240;

/** The child's side of a crew: answers tasks one after the other until the parent is gone. `tired` may ask for an end after one. */
export const serveTasks = (
  work: (task: unknown, parent: Parent) => Promise<unknown>,
  tired: () => boolean = () => false,
): void => {
  optimiseLate();
  const bounds = new Float64Array(new SharedArrayBuffer(16));
  // Where the system gives no thread for it, no task is begun: nothing would bound it.
  startThread(entryOf(import.meta.url, "./watchdog"), { data: bounds.buffer }).once("error", () => {
    writeSync(LIFELINE, "unwatched\n");
    process.exit(1);
  });
  // A signal to the whole group (Ctrl-C, a service being stopped) is the parent's affair, which closes the channel.
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.on(signal, () => undefined);
  process.on("disconnect", () => process.exit(0));
  const say = (said: ToParent): void => {
    if (process.connected) process.send?.(said);
  };
  const waiting = new Map<number, { resolve: (value: unknown) => void; reject: (error: Error) => void }>();
  let asked = 0;
  const ask = <T>(what: unknown): Promise<T> =>
    new Promise<unknown>((resolve, reject) => {
      waiting.set(asked, { resolve, reject });
      say({ question: asked++, what });
    }) as Promise<T>;
  const parent: Parent = {
    ask,
    get: (ref) => readAt(SPOOL, ref),
    async put(bytes) {
      const ref = await ask<Ref>({ [RESERVE]: bytes.length });
      writeAt(SPOOL, bytes, ref.at);
      return ref;
    },
  };
  const bound = ({ seconds, memory }: Bounds): void => {
    const { user, system } = process.cpuUsage();
    bounds[0] = user + system + seconds * 1e6;
    bounds[1] = memory * 2 ** 20;
  };
  process.on("message", (heard: ToChild) => {
    if ("reply" in heard) {
      const one = waiting.get(heard.reply);
      waiting.delete(heard.reply);
      if ("thrown" in heard) one?.reject(Object.assign(new Error(heard.thrown.message), { code: heard.thrown.code }));
      else one?.resolve(heard.value);
      return;
    }
    bound(heard.bounds);
    work(heard.task, parent).then(
      (answer) => {
        bounds.fill(0);
        say({ answer, tired: tired() || process.memoryUsage.rss() > MOST_KEPT * 2 ** 20 });
      },
      (error: unknown) => {
        bounds.fill(0);
        say({ thrown: thrownOf(error) });
      },
    );
  });
  say({ ready: true });
};
