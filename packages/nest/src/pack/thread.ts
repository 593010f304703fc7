import { Worker } from "node:worker_threads";

/** A thread as far as `pack` uses one: Node's `Worker` is one. */
export interface Thread {
  postMessage(message: unknown): void;
  on(event: "message", listener: (message: unknown) => void): unknown;
  on(event: "error", listener: (error: unknown) => void): unknown;
  terminate(): Promise<unknown>;
}

/**
 * Starts a thread: `entry` is the module that it runs, a file of this package, and `data` what it finds as `workerData`. For who
 * starts threads in a way of their own, with limits or from sources.
 */
export type StartThread = (entry: URL, data: unknown) => Thread;

/** The entry of a thread, beside this file: built, or the source when the sources run as they are. */
export const ENTRY = new URL(import.meta.url.endsWith(".ts") ? "./worker.ts" : "./worker.js", import.meta.url);

/** Node's own way. The flags of the process are not handed on: with `--input-type` among them no file can be an entry. */
export const plainThread: StartThread = (entry, data) => new Worker(entry, { workerData: data, execArgv: [] });
