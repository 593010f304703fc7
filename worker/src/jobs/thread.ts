import { getHeapStatistics } from "node:v8";
import { parentPort } from "node:worker_threads";
import { failureOf } from "./failures.ts";
import { type PrintRun, printRun } from "./print-run.ts";
import type { Said } from "./threads.ts";

/** Jobs of one thread: whatever a library keeps for itself goes with the thread. */
const MOST_JOBS = 50;
/** Part of the heap allowed that may be in use after a job: the next one gets the rest. */
const MOST_HEAP = 0.25;

const say = (said: Said): void => parentPort?.postMessage(said);

let jobs = 0;

const tired = (): boolean => {
  const { used_heap_size, heap_size_limit } = getHeapStatistics();
  return ++jobs >= MOST_JOBS || used_heap_size > MOST_HEAP * heap_size_limit;
};

// A failure goes back as data: an error that crosses threads loses its code, and with it whether it was the weather.
parentPort?.on("message", (work: PrintRun) => {
  printRun(work, { onProgress: (progress) => say({ progress }) }).then(
    (end) => say({ end, tired: tired() }),
    (error: unknown) => say({ failure: failureOf(error) }),
  );
});
