import { MessageChannel } from "node:worker_threads";
import type { Progress } from "@kitforme/run";
import { Piscina } from "piscina";
import { FailedRun, type Failure } from "./failures.ts";
import type { PrintRun, PrintRunEnd } from "./print-run.ts";

// From the sources (tests) the thread is TypeScript and needs a door of its own; from dist it is plain JavaScript.
const fromSource = import.meta.url.endsWith(".ts");

export interface Pool {
  /** Runs one job in a thread; an abort kills the thread. An exhausted heap comes back as an error, the process lives on. */
  run(work: PrintRun, signal: AbortSignal, onProgress: (progress: Progress) => void): Promise<PrintRunEnd>;
  close(): Promise<void>;
}

export const poolOf = (threads: number): Pool => {
  const pool = new Piscina({
    filename: new URL(fromSource ? "./thread.mjs" : "./thread.js", import.meta.url).href,
    minThreads: 0,
    maxThreads: threads,
    concurrentTasksPerWorker: 1,
    ...(fromSource ? { execArgv: ["--conditions=source"] } : {}),
  });
  return {
    async run(work, signal, onProgress) {
      const { port1, port2 } = new MessageChannel();
      port1.on("message", onProgress);
      try {
        const back = (await pool.run({ work, port: port2 }, { signal, transferList: [port2] })) as
          | { readonly end: PrintRunEnd }
          | { readonly failure: Failure };
        if ("failure" in back) throw new FailedRun(back.failure);
        return back.end;
      } finally {
        port1.close();
      }
    },
    close: () => pool.destroy(),
  };
};
