// A thread of a bounded process that ends it: when its parent is gone (a process in a busy loop of native code hears of
// nothing else), and when its task is over a bound. Node gives no other way that works on every system.
import { writeSync } from "node:fs";
import { Socket } from "node:net";
import { workerData } from "node:worker_threads";
import { LIFELINE } from "./bounds.ts";

/** Milliseconds between two looks. */
const PAUSE = 40;

/** Microseconds of processor at which the task ends, bytes resident at which it does; 0 while there is none. */
const [seconds, bytes] = [0, 1];
const bounds = new Float64Array(workerData as SharedArrayBuffer);

const say = (line: string): void => {
  try {
    writeSync(LIFELINE, `${line}\n`);
  } catch {
    // Nobody is there to read it.
  }
};

const end = (cause: string): void => {
  if (cause !== "") say(cause);
  process.kill(process.pid, "SIGKILL");
};

const line = new Socket({ fd: LIFELINE, readable: true, writable: true });
line.on("error", () => end(""));
line.on("close", () => end(""));
line.resume();

/** MiB beyond what was last said at which it is said again: should the system end the process, its parent knows what it held. */
const TOLD = 64;

const watch = (): void => {
  let told = 0;
  setInterval(() => {
    const most = bounds[seconds] as number;
    if (most > 0) {
      const { user, system } = process.cpuUsage();
      if (user + system > most) end("time");
    }
    const limit = bounds[bytes] as number;
    if (limit === 0) return;
    const held = process.memoryUsage.rss();
    if (held > limit) end("memory");
    const mebibytes = Math.round(held / 2 ** 20);
    if (mebibytes < told + TOLD) return;
    told = mebibytes;
    say(`held ${mebibytes}`);
  }, PAUSE);
};

watch();
