import { parentPort, workerData } from "node:worker_threads";
import { failureOf } from "./failures.ts";
import type { Said } from "./in-thread.ts";
import { type PrintRun, printRun } from "./print-run.ts";

const say = (said: Said): void => parentPort?.postMessage(said);

// A failure goes back as data: an error that crosses threads loses its code, and with it whether it was the weather.
printRun(workerData as PrintRun, { onProgress: (progress) => say({ progress }) }).then(
  (end) => say({ end }),
  (error: unknown) => say({ failure: failureOf(error) }),
);
