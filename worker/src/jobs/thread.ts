import type { MessagePort } from "node:worker_threads";
import { type PrintRun, type PrintRunEnd, printRun } from "./print-run.ts";

/** Runs in a thread of its own, so that the process stays free to renew its lock on the job and to answer signals. */
export default async ({
  work,
  port,
}: {
  readonly work: PrintRun;
  readonly port: MessagePort;
}): Promise<PrintRunEnd> => {
  try {
    return await printRun(work, { onProgress: (progress) => port.postMessage(progress) });
  } finally {
    port.close();
  }
};
