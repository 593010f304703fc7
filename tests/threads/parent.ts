// A process or thread with a crew: one member in a busy loop, one idle. Tells their numbers to whoever started it.
import { parentPort } from "node:worker_threads";
import { Crew, entryOf } from "@kitforme/threads";
import type { Task } from "./tasks.ts";

const crew = new Crew(entryOf(import.meta.url, "./tasks"), 128);
const bounds = { seconds: 100, memory: 1000 };
const give = <T>(task: Task): Promise<T> => crew.do<T>({ task, bounds });
const pids = await Promise.all([give<number>({ do: "pid" }), give<number>({ do: "pid" })]);
if (!process.argv.includes("forget")) {
  give({ do: "spin" }).catch(() => undefined);
  setTimeout(() => {
    if (parentPort) parentPort.postMessage(pids);
    else process.send?.(pids);
  }, 300);
}
