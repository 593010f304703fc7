// The thread of a command that is watched: the command itself, with the streams of its process.
import { parentPort, workerData } from "node:worker_threads";
import { main } from "./cli.ts";
import { type Given, type Message, STATE } from "./watched.ts";

const { words, state, columns } = workerData as Given;
// A thread's streams end in those of its process, terminal or not, and do not say so themselves.
for (const [stream, wide] of [
  [process.stdout, columns.out],
  [process.stderr, columns.err],
] as const)
  if (wide !== undefined) Object.assign(stream, { isTTY: true, columns: wide });

const shared = new Int32Array(state);
const say = (message: Message): void => parentPort?.postMessage(message);
process.exitCode = await main(words, {
  leaves: (left) => say({ left }),
  ends: () => say({ ends: true }),
  bar: (shown) => say({ bar: shown }),
  whole: () => Atomics.compareExchange(shared, 0, STATE.running, STATE.whole) === STATE.running,
  listen: (heard) => {
    parentPort?.once("message", heard);
    // A command that is done does not wait for a signal.
    parentPort?.unref();
  },
});
