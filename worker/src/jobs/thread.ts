import type { MessagePort } from "node:worker_threads";
import { type Failure, kindOf } from "./failures.ts";
import { type PrintRun, type PrintRunEnd, printRun } from "./print-run.ts";

/**
 * Runs in a thread of its own, so that the process stays free to renew its lock on the job and to answer signals.
 * A failure goes back as data: an error that crosses threads loses its code, and with it whether it was the weather.
 */
export default async ({
  work,
  port,
}: {
  readonly work: PrintRun;
  readonly port: MessagePort;
}): Promise<{ readonly end: PrintRunEnd } | { readonly failure: Failure }> => {
  try {
    return { end: await printRun(work, { onProgress: (progress) => port.postMessage(progress) }) };
  } catch (error) {
    return { failure: { kind: kindOf(error), message: error instanceof Error ? error.message : String(error) } };
  } finally {
    port.close();
  }
};
